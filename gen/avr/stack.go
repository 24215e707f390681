package avr

import (
	"debug/elf"
	"encoding/binary"
	"errors"
	"fmt"
	"os/exec"
	"strings"

	"propwright/model/board"
)

// Stack says how many bytes of SRAM the stack of a linked sketch takes at most: the
// longest chain of calls from main, the interrupt handler that takes most, and every
// handler that lets others interrupt it, once. It is worked out on the machine code,
// the core and the libraries included: what is pushed on every way through a function,
// the frames of local variables, and return addresses.
//
// The error wraps ErrUnbounded where a function calls itself, or one through a pointer;
// bytes is then what is known without these calls.
//
// Opcodes are those of "AVR Instruction Set Manual", Atmel-0856; that a frame is made
// by setting SP from Y is what avr-gcc does.
func Stack(path string, b *board.Board) (bytes int, err error) {
	p, err := readProgram(path)
	if err != nil {
		return 0, err
	}
	p.returnAddress = 2
	if b.FlashBytes > 128<<10 {
		p.returnAddress = 3 // a program counter of 22 bits
	}
	main, ok := p.functions["main"]
	if !ok {
		return 0, fmt.Errorf("%s has no main", path)
	}
	bytes = p.returnAddress + p.function(main).bytes
	blocking := 0
	for name, at := range p.functions {
		if !strings.HasPrefix(name, "__vector_") || name == "__vector_default" {
			continue
		}
		f := p.function(at)
		if f.interruptible {
			bytes += p.returnAddress + f.bytes
		} else {
			blocking = max(blocking, p.returnAddress+f.bytes)
		}
	}
	return bytes + blocking, p.unbounded
}

// ErrUnbounded is the error of a program whose worst case is not known.
var ErrUnbounded = errors.New("the stack has no known limit")

// A program is a linked one's machine code.
type program struct {
	text          []byte
	start         uint32 // address of text
	functions     map[string]uint32
	names         map[uint32]string
	ends          map[uint32]uint32 // of functions, by where they start
	returnAddress int               // its bytes

	known     map[uint32]taken
	active    map[uint32]bool // functions that are being looked at
	unbounded error
}

// taken is what a function takes of the stack, without its own return address.
type taken struct {
	bytes         int
	interruptible bool // it lets interrupts in itself
}

func readProgram(path string) (*program, error) {
	f, err := elf.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	defer f.Close()
	text := f.Section(".text")
	if f.Machine != elf.EM_AVR || text == nil {
		return nil, fmt.Errorf("%s is not an AVR program but one for %v", path, f.Machine)
	}
	p := &program{
		start: uint32(text.Addr), functions: map[string]uint32{}, names: map[uint32]string{},
		ends: map[uint32]uint32{}, known: map[uint32]taken{}, active: map[uint32]bool{},
	}
	if p.text, err = text.Data(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	symbols, err := f.Symbols()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	for _, s := range symbols {
		if elf.ST_TYPE(s.Info) == elf.STT_FUNC {
			p.functions[s.Name] = uint32(s.Value)
			p.names[uint32(s.Value)] = s.Name
			p.ends[uint32(s.Value)] = uint32(s.Value + s.Size)
		}
	}
	return p, nil
}

// word returns the opcode at an address; outside of the program it is one that returns.
func (p *program) word(at uint32) uint16 {
	if i := at - p.start; at >= p.start && int(i)+2 <= len(p.text) {
		return binary.LittleEndian.Uint16(p.text[i:])
	}
	return opRet
}

const (
	opRet    = 0x9508
	opReti   = 0x9518
	opIcall  = 0x9509
	opEicall = 0x9519
	opIjmp   = 0x9409
	opEijmp  = 0x9419
	opSei    = 0x9478
)

// size returns the length in bytes of the instruction at an address.
func (p *program) size(at uint32) uint32 {
	w := p.word(at)
	if w&0xFE0C == 0x940C || w&0xFC0F == 0x9000 { // jmp and call; lds and sts
		return 4
	}
	return 2
}

// function works out what the function at an address takes.
func (p *program) function(entry uint32) taken {
	if f, ok := p.known[entry]; ok {
		return f
	}
	if p.active[entry] {
		p.unbound("%s calls itself", plain(p.names[entry]))
		return taken{}
	}
	p.active[entry] = true
	defer delete(p.active, entry)

	type way struct {
		at    uint32
		depth int
	}
	var f taken
	deepest := map[uint32]int{} // at each instruction that has been come to
	open := []way{{entry, 0}}
	for len(open) > 0 {
		w := open[len(open)-1]
		open = open[:len(open)-1]
		if before, seen := deepest[w.at]; seen && before >= w.depth {
			continue
		}
		if w.depth > 0xFFFF {
			p.unbound("a loop of %s pushes", plain(p.names[entry]))
			break
		}
		deepest[w.at] = w.depth
		f.bytes = max(f.bytes, w.depth)
		op, next := p.word(w.at), w.at+p.size(w.at)
		relative := next + uint32(int32(int16(op<<4))>>3) // of rjmp and rcall
		absolute := (uint32(op>>3&0x3E|op&1)<<16 | uint32(p.word(w.at+2))) * 2
		call := func(to uint32) {
			if to == 0 {
				return // a weak function that is not there, which is asked before it is called
			}
			callee := p.function(to)
			f.bytes = max(f.bytes, w.depth+p.returnAddress+callee.bytes)
			f.interruptible = f.interruptible || callee.interruptible
		}
		switch {
		case op == opRet || op == opReti:
			continue
		case op == opIcall || op == opEicall:
			p.unbound("%s calls a function through a pointer", plain(p.names[entry]))
		case op == opIjmp || op == opEijmp: // the cases of a switch: what has not been come to otherwise
			for at := entry; at < p.ends[entry]; at += p.size(at) {
				if _, seen := deepest[at]; !seen {
					open = append(open, way{at, w.depth})
				}
			}
			continue
		case op&0xF000 == 0xC000: // rjmp
			next = relative
		case op&0xFE0E == 0x940C: // jmp
			next = absolute
		case op&0xF000 == 0xD000: // rcall
			if relative == next {
				w.depth += p.returnAddress // avr-gcc makes room so
			} else {
				call(relative)
			}
		case op&0xFE0E == 0x940E: // call
			call(absolute)
		case op&0xF800 == 0xF000: // a branch
			open = append(open, way{next + uint32(int32(int16(op<<6))>>9<<1), w.depth})
		case op&0xFC00 == 0x1000, op&0xFC00 == 0xFC00, op&0xFD00 == 0x9900: // cpse; sbrc and sbrs; sbic and sbis
			open = append(open, way{next + p.size(next), w.depth})
		case op&0xFE0F == 0x920F: // push
			w.depth++
		case op&0xFE0F == 0x900F: // pop
			w.depth--
		case op&0xFFFF == 0xBFCD: // out SPL, r28
			w.depth += p.frame(w.at)
		case op == opSei:
			f.interruptible = true
		}
		open = append(open, way{next, w.depth})
	}
	p.known[entry] = f
	return f
}

// frame is by how much the instructions before one that sets SP from Y have lowered Y,
// negative where they have raised it.
func (p *program) frame(at uint32) int {
	constant := func(op uint16) int { return int(op>>4&0xF0 | op&0xF) }
	high := 0
	for back := uint32(2); back <= 14; back += 2 {
		op := p.word(at - back)
		k := int(op>>2&0x30 | op&0xF)
		switch {
		case op&0xFF30 == 0x9720: // sbiw r28
			return k
		case op&0xFF30 == 0x9620: // adiw r28
			return -k
		case op&0xF0F0 == 0x40D0: // sbci r29
			high = constant(op)
		case op&0xF0F0 == 0x50C0: // subi r28
			return int(int16(high<<8 | constant(op)))
		}
	}
	return 0
}

// plain returns the name of a C++ function as it is written, where the compiler's tool for
// that is installed.
func plain(symbol string) string {
	out, err := exec.Command("avr-c++filt", symbol).Output()
	if err != nil {
		return symbol
	}
	return strings.TrimSpace(string(out))
}

func (p *program) unbound(format string, args ...any) {
	if p.unbounded == nil {
		p.unbounded = fmt.Errorf("%w: %s", ErrUnbounded, fmt.Sprintf(format, args...))
	}
}
