package sketch

import (
	"bytes"
	"fmt"
	"strings"
	"sync"
	"text/template"

	"propwright/gen"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/ir"
	"propwright/templates"
)

// CaptureFolder is the name of the capture sketch, and so of its folder.
const CaptureFolder = "capture"

var captureTexts = sync.OnceValue(func() *template.Template {
	return template.Must(template.Must(texts().Clone()).ParseFS(templates.Capture, "capture/*.tmpl"))
})

// capture is what the templates of the capture sketch need.
type capture struct {
	*firmware
	Pin       int
	Protocols []captured
}

// captured describes a protocol for the sketch.
type captured struct {
	Name, Wave                   string
	HighFirst, Counted, Bits     int
	AddressDigits, CommandDigits int
	Layout                       []capturedField
}

type capturedField struct {
	Part                  string
	Shift, Bits, Inverted int
}

var captureParts = map[ir.Part]string{
	ir.Address: "ADDRESS", ir.Command: "COMMAND", ir.Toggle: "TOGGLE", ir.Ones: "ONES", ir.Zeros: "ZEROS", ir.Parity: "PARITY",
}

// Capture returns the sketch that sends a receiver's times, and the codes of
// known protocols, over the serial line. The error says that the board cannot
// have a receiver at that pin, or that it is a portable one, for which there is
// no such sketch.
func Capture(boardName string, pin int) ([]gen.File, error) {
	b := &builder{firmware: &firmware{Board: boardName}, d: &model.Design{}}
	var ok bool
	if b.board, ok = board.ByName(boardName); !ok {
		return nil, fmt.Errorf("there is no board %q; choose one of %s", boardName, strings.Join(board.Names(), ", "))
	}
	if b.board.Portable {
		return nil, fmt.Errorf("there is no capture sketch for a %s; learn the remote with any 8-bit board: without a design file it is for pin 2 of an atmega328p", boardName)
	}
	if why := b.board.Cannot(pin, board.UseReceiver); why != "" {
		return nil, fmt.Errorf("%s", why)
	}
	c := capture{firmware: b.firmware, Pin: pin}
	b.receive(model.Pos{}, pin, "")
	seen := map[*ir.Wave]bool{}
	for _, p := range ir.Protocols() {
		w := p.Wave
		if w.Family == ir.Unknown {
			continue
		}
		if !seen[w] {
			seen[w] = true
			b.wave(&p, false)
		}
		x := captured{
			Name: p.Name, Wave: "PW_WAVE_" + upper(w.Name), HighFirst: flag(w.HighFirst), Counted: flag(len(w.Bits) > 1), Bits: p.Bits(),
			AddressDigits: (p.AddressBits + 3) / 4, CommandDigits: (p.CommandBits + 3) / 4,
		}
		for _, f := range p.Layout {
			x.Layout = append(x.Layout, capturedField{captureParts[f.Part], f.Shift, f.Bits, flag(f.Inverted)})
		}
		c.Protocols = append(c.Protocols, x)
	}
	b.join()
	var files []gen.File
	for _, name := range []string{"decode.h", "decode.c", CaptureFolder + ".ino"} {
		var text bytes.Buffer
		if err := captureTexts().ExecuteTemplate(&text, name+".tmpl", c); err != nil {
			panic(err) // a template names a field that capture does not have
		}
		files = append(files, gen.File{Path: name, Text: text.Bytes()})
	}
	return files, nil
}

func flag(set bool) int {
	if set {
		return 1
	}
	return 0
}
