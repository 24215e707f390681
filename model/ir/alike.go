package ir

// Alike reports whether a frame of one code may be taken for the other's:
// they are the same, or one is among what the other may be heard as.
func Alike(a, b Code) bool {
	return a == b || contains(HeardAs(a), b) || contains(HeardAs(b), a)
}

func contains(codes []Code, c Code) bool {
	for _, h := range codes {
		if h.same(c) {
			return true
		}
	}
	return false
}

// same reports whether two codes have the same frames: of a raw code the
// period is not a part of them, nor is what is sent while the button is down.
func (c Code) same(d Code) bool {
	c.Resent, d.Resent = false, false
	return c == d || c.Protocol == "raw" && d.Protocol == "raw" && c.Command == d.Command
}

// HeardAs lists the codes that c's frame may be heard as, c among them if it
// is known, where the remote is up to a tenth too fast or too slow and the
// receiver makes marks up to 80 µs longer or shorter, at the cost of the
// spaces. Its fingerprints are among them, as raw codes with period 0.
func HeardAs(c Code) []Code {
	var codes []Code
	add := func(h Code) {
		if !contains(codes, h) {
			codes = append(codes, h)
		}
	}
	toggles := []bool{false}
	if p := find(c.Protocol); p != nil && p.Wave.Repeat == RepeatToggle {
		toggles = append(toggles, true)
	}
	for _, toggle := range toggles {
		frame := EncodePress(c, toggle)
		for _, pace := range []float64{1, 0.9, 1.1} {
			for _, stretch := range []float64{0, -80, 80} {
				off := make([]int, len(frame))
				for i, us := range frame {
					off[i] = int(float64(us)*pace + stretch)
					stretch = -stretch
				}
				var d Decoder
				d.Feed(false, rawSilence)
				for i, us := range append(off, rawSilence) {
					if f, ok := d.Feed(i%2 == 0, us); ok {
						add(f.Code)
					}
				}
				if f, ok := Fingerprint(off); ok {
					add(Code{Protocol: "raw", Command: f})
				}
			}
		}
	}
	return codes
}

// A Named is a button and its code.
type Named struct {
	Name string
	Code Code
}

// An Index finds buttons whose codes are alike without comparing each with
// each. The zero Index is empty.
type Index struct {
	heard map[Code][]Named // what each button may be heard as
}

// Add puts a button into the index.
func (x *Index) Add(n Named) {
	if x.heard == nil {
		x.heard = map[Code][]Named{}
	}
	for _, h := range forms(n.Code) {
		x.heard[h] = append(x.heard[h], n)
	}
}

// Find gives the first button added whose code is alike, if there is one.
func (x *Index) Find(c Code) (Named, bool) {
	for _, h := range forms(c) {
		for _, n := range x.heard[h] {
			if Alike(n.Code, c) {
				return n, true
			}
		}
	}
	return Named{}, false
}

// forms are the code and what it may be heard as, raw codes without their
// period.
func forms(c Code) []Code {
	codes := HeardAs(c)
	if c.Protocol == "raw" {
		c.Address = 0
	}
	if !contains(codes, c) {
		codes = append(codes, c)
	}
	return codes
}
