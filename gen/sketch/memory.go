package sketch

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"propwright/model/board"
	"propwright/model/check"
)

// Rules returns all rules: those of model/check, and those that need the
// firmware.
func Rules() []*check.Rule { return append(check.Rules(), LimitRule, MemoryRule) }

// MemoryRule judges the chip's memory without a compiler:
// see Estimate. What it passes does fit, except for the maker's own code in
// hooks.cpp; it may refuse firmware that fits, but only if less than two
// flashMargins of flash stay free.
var MemoryRule = memoryRule(func(s *check.Study) (flash, sram, stack int) {
	flash, sram = Estimate(s)
	return flash + flashMargin, sram, Stack
}, "may take")

// Measured is MemoryRule for firmware of so many bytes, SRAM without the stack.
func Measured(flash, sram, stack int) *check.Rule {
	return memoryRule(func(*check.Study) (int, int, int) { return flash, sram, max(stack, Stack) }, "takes")
}

// Unlinked is MemoryRule for firmware that the linker could not fit, though
// without the maker's own code it would fit.
var Unlinked = &check.Rule{
	ID: MemoryRule.ID, Doc: MemoryRule.Doc, Severity: MemoryRule.Severity,
	Run: func(p *check.Pass) {
		flash, sram := Estimate(p.Study)
		p.Report(check.Finding{
			Pos:     p.Prop.At("board"),
			Message: fmt.Sprintf("the firmware does not fit into the %s: with what hooks.cpp adds, the linker has no room for it; the design takes %d bytes of SRAM and about %d of flash", p.Prop.Board, sram, flash),
			Advice:  "make do with less in hooks.cpp, or use a larger chip",
		})
	},
}

// memoryRule makes the rule; takesFlash is the verb before the flash size.
func memoryRule(size func(*check.Study) (flash, sram, stack int), takesFlash string) *check.Rule {
	return &check.Rule{
		ID: "memory", Doc: "the firmware does not fit into the chip's flash or SRAM", Severity: check.Error,
		Run: func(p *check.Pass) {
			flash, sram, stack := size(p.Study)
			memory(p, flash, sram, stack, takesFlash)
		},
	}
}

// Stack is the SRAM kept for the stack, in bytes; it is more where the
// linked firmware takes more. On the demo the longest chain of calls and the
// interrupts take 168 bytes (avr.Stack); the rest is for hooks.
const Stack = 256

// memory reports firmware that does not fit. LimitRule reports firmware that
// cannot be made; a portable board's memory is unknown.
func memory(p *check.Pass, flash, sram, stack int, takesFlash string) {
	f, err := firmwareOf.Of(p.Study)
	if err != nil || f.Portable {
		return
	}
	b, _ := board.ByName(p.Prop.Board)
	report := func(takes string, bytes int, what string, there int, kept, advice string, parts []part) {
		if bytes <= there {
			return
		}
		p.Report(check.Finding{
			Pos:     p.Prop.At("board"),
			Message: fmt.Sprintf("the firmware %s %d bytes of %s; the %s has %d%s", takes, bytes, what, b.Name, there, kept),
			Advice:  fmt.Sprintf("%s: make do with less, %sor use a larger chip", mostOf(parts), advice),
		})
	}
	report(takesFlash, flash, "flash", b.UsableFlash(), "", "", f.flashParts())
	advice := ""
	if stack > Stack {
		advice = "have smaller variables in the functions of hooks.cpp, "
	}
	report("takes", sram, "SRAM", b.SRAMBytes-stack, fmt.Sprintf(", without %d for the stack", stack), advice, f.sramParts())
}

// A part is the share of a memory that something in a design takes, in bytes.
type part struct {
	what  string
	bytes int
}

// mostOf names the two parts that take most.
func mostOf(parts []part) string {
	slices.SortStableFunc(parts, func(a, b part) int { return cmp.Compare(b.bytes, a.bytes) })
	var words []string
	for _, p := range parts[:min(len(parts), 2)] {
		words = append(words, fmt.Sprintf("%s take %d bytes", p.what, p.bytes))
	}
	return strings.Join(words, ", ")
}

// flashParts returns the tables that grow with a design.
func (f *firmware) flashParts() []part {
	return []part{
		{fmt.Sprintf("the %d cues of poses and routines", len(f.Cues)), f.bytes("pw_cues")},
		{fmt.Sprintf("the matrix of %d states", len(f.States)), f.bytes("pw_rules", "pw_rows", "pw_states", "pw_timers")},
		{fmt.Sprintf("the %d drifts", len(f.Drifts)), f.bytes("pw_drifts")},
		{fmt.Sprintf("the %d messages", len(f.Messages)), f.bytes("pw_message_at", "pw_message_bytes")},
		{fmt.Sprintf("the %d lights", len(f.Lights)), f.bytes("pw_lights")},
		{fmt.Sprintf("the %d buttons", len(f.Buttons)), f.bytes("pw_codes")},
	}
}

// sramParts returns the variables that grow with a design.
func (f *firmware) sramParts() []part {
	pixels := 0
	for _, s := range f.Strips {
		pixels += s.Count
	}
	return []part{
		{fmt.Sprintf("%d pixels", pixels), f.PixelBytes},
		{fmt.Sprintf("%d stretches of light", len(f.Layers)), f.layerBytes() * len(f.Layers)},
		{fmt.Sprintf("%d servos", len(f.Servos)), 22*len(f.Servos) + 10*len(f.Direct())},
		{fmt.Sprintf("%d outputs on expanders", len(f.Channels)), 5 * len(f.Channels)},
		{fmt.Sprintf("%d timers of one state", f.MaxTimers), 4 * f.MaxTimers},
	}
}
