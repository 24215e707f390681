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
// period is no part of them.
func (c Code) same(d Code) bool {
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
	for _, toggle := range []bool{false, true} {
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
