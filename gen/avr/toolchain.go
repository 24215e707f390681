package avr

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"propwright/model/board"
)

// CoreDir is where the Debian package arduino-core-avr puts the core library.
const CoreDir = "/usr/share/arduino/hardware/arduino/avr"

// ErrTooLarge is the error of a sketch that the linker has no room for.
var ErrTooLarge = errors.New("the sketch does not fit into the chip")

// A Toolchain is an installed compiler with a core library.
type Toolchain struct {
	cc, cxx, ar string // paths
	core        string // the core library's folder

	// Flags are given to the compiler for the sketch's own files, after the
	// usual ones.
	Flags []string
}

// Find looks for avr-gcc, avr-g++, avr-gcc-ar and the core library. The error
// says what is missing and how to get it.
func Find() (*Toolchain, error) {
	t := &Toolchain{core: CoreDir}
	var missing []string
	for _, tool := range []struct {
		name string
		path *string
	}{{"avr-gcc", &t.cc}, {"avr-g++", &t.cxx}, {"avr-gcc-ar", &t.ar}} {
		path, err := exec.LookPath(tool.name)
		if err != nil {
			missing = append(missing, tool.name)
		}
		*tool.path = path
	}
	if _, err := os.Stat(filepath.Join(t.core, "cores")); err != nil {
		missing = append(missing, "the core library in "+t.core)
	}
	if missing != nil {
		return nil, fmt.Errorf("%s not found; %s", strings.Join(missing, ", "), Install("the packages gcc-avr, avr-libc and arduino-core-avr",
			"the Arduino core for AVR: its toolchain holds the compiler, whose folder belongs on the PATH"))
	}
	return t, nil
}

// Install says how to get a program: from Debian packages on a system that has them, on any
// other by what it is and where it comes from.
func Install(packages, other string) string {
	if _, err := os.Stat("/etc/debian_version"); err != nil {
		return "install " + other
	}
	return "install " + packages
}

// Build compiles the sketch folder for the board of a chip such as
// "atmega328p" and links it with the core: the .ino, .c, .cpp and .S files that lie in the
// folder itself. It writes into outDir, which must exist, and returns the
// path of the ELF file there. The error of a compiler that fails holds what
// the compiler said; that of a linker without room wraps ErrTooLarge.
func (t *Toolchain) Build(ctx context.Context, sketchDir, outDir, mcu string) (elf string, err error) {
	b, ok := board.ByName(mcu)
	if !ok || b.Portable {
		return "", fmt.Errorf("no core for chip %q; use %s", mcu, strings.Join(chips(), ", "))
	}
	sources, err := sourcesIn(sketchDir)
	if err != nil {
		return "", err
	}
	if len(sources) == 0 {
		return "", fmt.Errorf("%s holds no sketch: no .ino, .c, .cpp or .S file", sketchDir)
	}
	core, err := t.coreArchive(ctx, b, outDir)
	if err != nil {
		return "", err
	}
	objects, err := t.compile(ctx, sources, outDir, b, append([]string{"-I", sketchDir}, t.Flags...))
	if err != nil {
		return "", err
	}
	elf = filepath.Join(outDir, filepath.Base(sketchDir)+".elf")
	link := []string{"-Os", "-g", "-Wl,--gc-sections", "-mmcu=" + b.MCU, "-o", elf}
	link = append(append(link, objects...), core, "-lm")
	err = run(ctx, t.cc, link...)
	if err != nil && strings.Contains(err.Error(), " region `") { // GNU ld's word for a memory
		err = fmt.Errorf("%w: %w", ErrTooLarge, err)
	}
	return elf, err
}

// chips lists the chips that there is a core for.
func chips() []string {
	return slices.DeleteFunc(board.Names(), func(name string) bool {
		b, _ := board.ByName(name)
		return b.Portable
	})
}

// atOnce is how many compilers run at the same time, each in some 20 MB.
const atOnce = 8

// compile turns each source into an object file in dir. Its error is that of the first
// source that has one.
func (t *Toolchain) compile(ctx context.Context, sources []string, dir string, b *board.Board, flags []string) ([]string, error) {
	common := []string{"-c", "-g", "-Os", "-ffunction-sections", "-fdata-sections",
		"-mmcu=" + b.MCU, fmt.Sprintf("-DF_CPU=%dL", b.ClockHz), "-DARDUINO=10819", "-DARDUINO_ARCH_AVR",
		"-I", filepath.Join(t.core, "cores", "arduino"),
		"-I", filepath.Join(t.core, "variants", b.Variant)}
	common = append(append(common, b.Defines...), flags...)
	cxx := []string{"-std=gnu++11", "-fpermissive", "-fno-exceptions", "-fno-threadsafe-statics"}
	objects, errs := make([]string, len(sources)), make([]error, len(sources))
	var compilers sync.WaitGroup
	slots := make(chan struct{}, atOnce)
	for i, source := range sources {
		objects[i] = filepath.Join(dir, filepath.Base(source)+".o")
		compiler, args := t.cc, []string(nil)
		switch filepath.Ext(source) {
		case ".c":
			args = []string{"-std=gnu11"}
		case ".cpp":
			compiler, args = t.cxx, cxx
		case ".ino":
			compiler, args = t.cxx, append(slices.Clip(cxx), "-x", "c++", "-include", "Arduino.h")
		case ".S":
			args = []string{"-x", "assembler-with-cpp"}
		}
		compilers.Go(func() {
			slots <- struct{}{}
			errs[i] = run(ctx, compiler, slices.Concat(common, args, []string{source, "-o", objects[i]})...)
			<-slots
		})
	}
	compilers.Wait()
	return objects, cmp.Or(errs...)
}

// coreArchive returns the core library compiled for a chip. It is compiled into
// outDir once for every version of compiler and library, and kept in the
// user's cache folder. A kept archive that is not as it was made is made again;
// a cache that cannot be used is done without.
func (t *Toolchain) coreArchive(ctx context.Context, b *board.Board, outDir string) (string, error) {
	sources, err := sourcesIn(filepath.Join(t.core, "cores", "arduino"))
	if err != nil {
		return "", err
	}
	version, err := exec.CommandContext(ctx, t.cc, "--version").Output()
	if err != nil {
		return "", fmt.Errorf("%s --version: %w", t.cc, err)
	}
	from := sha256.New()
	from.Write(version)
	for _, source := range sources {
		text, err := os.ReadFile(source)
		if err != nil {
			return "", err
		}
		from.Write(text)
	}
	c := cache{prefix: fmt.Sprintf("core-%s-%x-", b.MCU, from.Sum(nil)[:8])}
	if user, err := os.UserCacheDir(); err == nil {
		c.dir = filepath.Join(user, "propwright")
	}
	if archive, ok := c.find(); ok {
		return archive, nil
	}
	dir := filepath.Join(outDir, "core")
	if err := os.Mkdir(dir, 0o755); err != nil {
		return "", err
	}
	// The core's strings use DECIMAL_DIG, which gcc 5.4 declares in C only.
	objects, err := t.compile(ctx, sources, dir, b, []string{"-w", "-DDECIMAL_DIG=__DECIMAL_DIG__"})
	if err != nil {
		return "", err
	}
	archive := filepath.Join(dir, "core.a")
	if err := run(ctx, t.ar, append([]string{"rcs", archive}, objects...)...); err != nil {
		return "", err
	}
	c.keep(archive)
	return archive, nil
}

// sourcesIn lists the folder's source files in alphabetical order.
func sourcesIn(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var sources []string
	for _, e := range entries {
		switch filepath.Ext(e.Name()) {
		case ".ino", ".c", ".cpp", ".S":
			if !e.IsDir() {
				sources = append(sources, filepath.Join(dir, e.Name()))
			}
		}
	}
	return sources, nil
}

func run(ctx context.Context, name string, args ...string) error {
	out, err := exec.CommandContext(ctx, name, args...).CombinedOutput()
	if err != nil {
		return fmt.Errorf("%s %s: %w\n%s", filepath.Base(name), strings.Join(args, " "), err, bytes.TrimSpace(out))
	}
	return nil
}
