package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"propwright/gen"
	"propwright/gen/avr"
	"propwright/gen/harness"
	"propwright/gen/sketch"
	"propwright/gen/tour"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
)

// A summary is a build's report to the maker.
type summary struct {
	Label       string         `json:"label"`
	Board       string         `json:"board"`
	Folder      string         `json:"folder"`
	Sketch      string         `json:"sketch"`
	States      map[string]int `json:"states"` // by kind
	Transitions int            `json:"transitions"`
	Buttons     int            `json:"buttons"`
	Findings    check.Findings `json:"findings"`
	Files       gen.Report     `json:"files"`
	SetAside    []string       `json:"set_aside,omitempty"`
	Hooks       []string       `json:"hooks,omitempty"`  // what hooks.cpp may want
	Memory      *memory        `json:"memory,omitempty"` // nil: the board is a portable one, whose chip is not known
}

// memory holds the firmware's and the chip's memory in bytes. SRAM is without the
// stack; Stack is the most that the stack takes.
type memory struct {
	Flash        int    `json:"flash"`
	FlashThere   int    `json:"flash_there"`
	SRAM         int    `json:"sram"`
	SRAMThere    int    `json:"sram_there"`
	Stack        int    `json:"stack,omitempty"`         // 0: not measured
	StackUnknown string `json:"stack_unknown,omitempty"` // why it may take more than Stack
	WhyEstimated string `json:"why_estimated,omitempty"` // "": measured

	elf   string      // the linked firmware
	fails bool        // the compiler or the linker refuses it
	rule  *check.Rule // says whether it fits; nil where the estimate has said so before
}

// newSummary reports a build in a folder. It leaves the linked firmware in the folder
// linked, if that is not "". Its error is errInterrupted.
func newSummary(ctx context.Context, study *check.Study, findings check.Findings, dir string, files gen.Report, linked string) (*summary, error) {
	d := study.Design
	m, err := measure(ctx, study, dir, linked)
	if err != nil {
		return nil, err
	}
	if m != nil && m.rule != nil {
		large, _ := study.Check([]*check.Rule{m.rule}) // the study was checked before
		findings = append(findings, large...)
	}
	s := &summary{
		Label:       d.Prop.Label,
		Board:       d.Prop.Board,
		Folder:      dir,
		Sketch:      filepath.Join(dir, sketch.Folder(d)+".ino"),
		States:      map[string]int{},
		Transitions: len(d.Transitions),
		Buttons:     len(d.Remote.Buttons),
		Findings:    newReport(nil, findings).Findings,
		Files:       files,
		Hooks:       hookAdvice(d, dir, files),
		Memory:      m,
	}
	if s.Label == "" {
		s.Label = d.Prop.Name
	}
	for i := range d.States {
		s.States[string(d.States[i].Kind)]++
	}
	return s, nil
}

// measure compiles the sketch if there is a toolchain, and else estimates its size. It
// returns nil if the chip is unknown, and no error but errInterrupted.
func measure(ctx context.Context, s *check.Study, dir, linked string) (*memory, error) {
	b, ok := board.ByName(s.Prop.Board)
	if !ok || b.Portable {
		return nil, nil
	}
	var m memory
	m.FlashThere, m.SRAMThere = b.UsableFlash(), b.SRAMBytes
	err := m.compile(ctx, dir, linked, b)
	switch {
	case errors.Is(err, errInterrupted):
		return nil, err
	case err != nil:
		m.WhyEstimated = err.Error()
		var exit *exec.ExitError
		m.fails = errors.As(err, &exit) && exit.ExitCode() > 0
		m.Flash, m.SRAM = sketch.Estimate(s)
		if errors.Is(err, avr.ErrTooLarge) {
			m.rule = sketch.Unlinked
		}
	default:
		m.rule = sketch.Measured(m.Flash, m.SRAM, m.Stack)
	}
	return &m, nil
}

// compile links the sketch of a folder and measures what it takes of the chip. The
// linked firmware is left in the folder linked, if that is not "".
func (m *memory) compile(ctx context.Context, dir, linked string, b *board.Board) (err error) {
	if linked == "" {
		var leave func()
		if linked, ctx, leave, err = workroom(ctx); err != nil {
			return err
		}
		defer leave()
	}
	if m.elf, err = compile(ctx, dir, b.MCU, linked); err != nil {
		return err
	}
	if m.Flash, m.SRAM, err = avr.Size(m.elf); err != nil {
		return err
	}
	m.Stack, err = avr.Stack(m.elf, b)
	if errors.Is(err, avr.ErrUnbounded) {
		m.StackUnknown = err.Error()
		err = nil
	}
	return err
}

// compile links the sketch of a folder into the folder linked. Where the context ends
// first, its error is errInterrupted.
func compile(ctx context.Context, dir, mcu, linked string) (elf string, err error) {
	tools, err := avr.Find()
	if err != nil {
		return "", err
	}
	// The core library takes some seconds, once; a prop's files take one.
	limited, cancel := context.WithTimeout(ctx, 2*time.Minute)
	defer cancel()
	elf, err = tools.Build(limited, dir, linked, mcu)
	if ctx.Err() != nil {
		err = errInterrupted
	}
	return elf, err
}

// stack describes the stack's share of the SRAM.
func (m *memory) stack() string {
	stack := model.FormatCount(m.Stack)
	switch {
	case m.Stack == 0:
		return "without the stack"
	case m.StackUnknown != "":
		return fmt.Sprintf("and at least %s of stack: %s", stack, m.StackUnknown)
	}
	return fmt.Sprintf("at most %s of stack, %s free", stack, model.FormatCount(max(0, m.SRAMThere-m.SRAM-m.Stack)))
}

func (s *summary) print(w io.Writer) error {
	var b strings.Builder
	for _, f := range s.Findings {
		if f.Severity <= check.Warning {
			printFinding(&b, f)
		}
	}
	fmt.Fprintf(&b, "%s, for the %s\n\n", s.Label, s.Board)
	line := func(what, text string) { fmt.Fprintf(&b, "  %-12s %s\n", what, text) }

	total := 0
	var kinds []string
	for _, k := range model.StateKinds {
		total += s.States[string(k)]
		kinds = append(kinds, fmt.Sprintf("%d %s", s.States[string(k)], k))
	}
	line("states", fmt.Sprintf("%d: %s", total, strings.Join(kinds, ", ")))
	line("transitions", fmt.Sprintf("%d, with %s", s.Transitions, counted(s.Buttons, "button")))
	findings := tally(s.Findings)
	if s.Findings.Count(check.Note) > 0 {
		findings += " (propwright check shows them)"
	}
	line("findings", findings)
	line("files", fmt.Sprintf("%d written, %d unchanged, in %s", len(s.Files.Written), len(s.Files.Unchanged), s.Folder))
	for _, f := range s.Files.Kept {
		line("", f+" kept: it is yours")
	}
	for _, h := range s.Hooks {
		line("", h)
	}
	for _, f := range s.SetAside {
		line("", f+" is your version: move what you want to keep into hooks.cpp")
	}
	for _, f := range s.Files.Removed {
		line("", f+" removed: this build does not have it")
	}
	for _, f := range s.Files.Left {
		line("", f+" left: this build does not have it, but you edited it")
	}
	if m := s.Memory; m == nil {
		line("memory", "not known: your board's IDE measures it")
		line("not proven", "no firmware for this board has run on a chip: try it with the linkages")
		line("", "off, the stop button first (board.cpp says what it needs of the core)")
	} else {
		line("flash", share(m.Flash, m.FlashThere))
		line("SRAM", share(m.SRAM, m.SRAMThere)+", "+m.stack())
		how := "measured with avr-gcc"
		if m.WhyEstimated != "" {
			how = "estimated: "
			if m.fails {
				how = "estimated, as it does not compile: "
			}
			how += strings.ReplaceAll(strings.TrimSpace(m.WhyEstimated), "\n", "\n"+strings.Repeat(" ", 15))
		}
		line("", how)
	}
	next := fmt.Sprintf("upload it with propwright flash, or open %s in your board's usual IDE.", s.Sketch)
	switch {
	case s.Memory == nil:
		next = fmt.Sprintf("open %s in your board's usual IDE and upload it.", s.Sketch)
	case s.Memory.fails:
		next = "mend what is said above, then build again."
	}
	fmt.Fprintf(&b, `
Next: %s
So far the design has been checked. To test the firmware on this computer: cd %s && go test
What the prop itself does, only a walk at the bench can show: %s
`, next, filepath.Join(s.Folder, harness.Folder), filepath.Join(s.Folder, tour.File))
	_, err := io.WriteString(w, b.String())
	return err
}

// share returns "8,106 of 32,256 bytes (25 %)".
func share(n, of int) string {
	return fmt.Sprintf("%s of %s bytes (%d %%)", model.FormatCount(n), model.FormatCount(of), (100*n+of-1)/max(of, 1))
}
