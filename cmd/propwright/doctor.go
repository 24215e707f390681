package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/ports"
	"propwright/gen/avr"
	"propwright/gen/bench"
	"propwright/model/board"
)

// A probe looks for something optional that propwright uses.
type probe struct {
	what    string
	look    func() (found string, err error)
	without string // what cannot be done without it
}

var probes = []probe{
	{"terminal", terminal, "the editor needs one; check, build and the other commands do not"},
	{"characters", characters, "lines and letters in the editor are replaced by plain ones"},
	{"chip compiler", func() (string, error) { _, err := avr.Find(); return "avr-gcc and the core library", err },
		"build estimates sizes instead of measuring them, and flash cannot compile"},
	{"uploader", avr.FindUploader, "flash cannot upload; a board's usual IDE can"},
	{"Go", tool("go", "golang", "Go"), "the harness of a build cannot be run"},
	{"C compiler", tool("gcc", "gcc", cCompiler), "the harness of a build cannot be run"},
	{"simulated chip", func() (string, error) { return "libsimavr", bench.Ready() }, "prove tries the firmware's C only, not the firmware on a chip"},
	{"git", tool("git", "git", "Git"), "diff cannot read a revision, as in diff HEAD:heron.prop.toml heron.prop.toml"},
	{"keymaps", keymaps, "learn --keymap needs a keymap file from elsewhere"},
	{"boards", boards, "flash, and learn --port, need one"},
}

func doctorCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "doctor",
		Short: "Say which tools, boards and rights are missing, and what each would give",
		Long: `Look at the terminal, the compilers, the uploader and the boards that are
connected, and say what is missing, how to get it, and what cannot be done without.
Nothing of it is needed to design, check and rehearse a prop.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return examine(cmd.OutOrStdout()) },
	}
}

func examine(w io.Writer) error {
	var b strings.Builder
	for _, p := range probes {
		found, err := p.look()
		if err == nil {
			fmt.Fprintf(&b, "found    %-14s %s\n", p.what, found)
			continue
		}
		for i, line := range strings.Split(err.Error(), "\n") {
			if i == 0 {
				fmt.Fprintf(&b, "missing  %-14s %s\n", p.what, line)
			} else {
				fmt.Fprintf(&b, "%24s%s\n", "", line)
			}
		}
		fmt.Fprintf(&b, "%24swithout: %s\n", "", p.without)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

const cCompiler = "a C compiler that is called gcc"

// tool looks for a program, which comes from a Debian package, or elsewhere as what other says.
func tool(name, debian, other string) func() (string, error) {
	return func() (string, error) {
		path, err := exec.LookPath(name)
		if errors.Is(err, exec.ErrNotFound) {
			err = fmt.Errorf("%s not found; %s", name, avr.Install("the package "+debian, other))
		}
		return path, err
	}
}

func terminal() (string, error) {
	if !term.IsTerminal(int(os.Stdin.Fd())) {
		return "", errors.New("this is not called from a terminal")
	}
	w, h, err := term.GetSize(int(os.Stdin.Fd()))
	if err != nil {
		return "", err
	}
	says := fmt.Sprintf("%s, %d×%d", os.Getenv("TERM"), w, h)
	if pane.Colourless() {
		says += ", without colour as NO_COLOR asks"
	}
	if w < 80 || h < 24 {
		return "", fmt.Errorf("it is %d×%d; the editor wants 80×24", w, h)
	}
	return says, nil
}

// characters says by the locale whether the terminal shows more than ASCII: LC_ALL,
// else LC_CTYPE, else LANG, as in POSIX.
func characters() (string, error) {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		value := os.Getenv(name)
		if value == "" {
			continue
		}
		if plain := strings.ToUpper(strings.ReplaceAll(value, "-", "")); strings.Contains(plain, "UTF8") {
			return name + "=" + value, nil
		}
		return "", fmt.Errorf("%s=%s is not UTF-8; set it to C.UTF-8, say", name, value)
	}
	if runtime.GOOS == "windows" {
		return "UTF-8", nil
	}
	return "", errors.New("no locale is set; write export LANG=C.UTF-8")
}

func keymaps() (string, error) {
	const dir = "/lib/udev/rc_keymaps"
	files, err := filepath.Glob(dir + "/*.toml")
	if err == nil && len(files) == 0 {
		err = errors.New("no keymaps of remotes; " + avr.Install("the package ir-keytable", "ir-keytable, a part of v4l-utils: it holds them"))
	}
	return fmt.Sprintf("%d in %s", len(files), dir), err
}

// boards lists the USB ports with the boards that may be on them, and says which the
// user may not open.
func boards() (string, error) {
	var found []string
	for _, p := range ports.List() {
		if p.ID == "" {
			continue
		}
		if err := ports.May(p.Name); err != nil {
			return "", err
		}
		found = append(found, p.Name+likely(p))
	}
	if found == nil {
		return "", errors.New("none is connected by USB")
	}
	return strings.Join(found, ", "), nil
}

func likely(p ports.Port) string {
	for _, name := range board.Names() {
		if b, _ := board.ByName(name); slices.Contains(b.Upload.IDs, strings.ToLower(p.ID)) {
			return " (" + name + ")"
		}
	}
	return " (" + p.ID + ")"
}
