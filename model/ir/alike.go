package ir

// Alike reports whether a frame of one code may be taken for the other's:
// they are the same, or a remote that is a little off, behind a receiver that
// stretches marks, sends one and a decoder hears the other.
func Alike(a, b Code) bool { return heardAs(a, b) || heardAs(b, a) }

// heardAs reports whether a frame of a may be heard as b.
func heardAs(a, b Code) bool {
	if a == b || a.Protocol == "raw" && b.Protocol == "raw" && a.Command == b.Command {
		return true
	}
	for _, toggle := range []bool{false, true} {
		for _, pace := range []float64{0.9, 1, 1.1} {
			for _, stretch := range []float64{-80, 0, 80} {
				frame := EncodePress(a, toggle)
				for i, us := range frame {
					t := float64(us) * pace
					if i%2 == 0 {
						t += stretch
					} else {
						t -= stretch
					}
					frame[i] = int(t)
				}
				if hears(frame, b) {
					return true
				}
			}
		}
	}
	return false
}

// hears reports whether a frame is decoded as a code.
func hears(frame []int, c Code) bool {
	if c.Protocol == "raw" {
		f, ok := Fingerprint(frame)
		return ok && f == c.Command
	}
	var d Decoder
	d.Feed(false, rawSilence)
	for i, us := range frame {
		if f, ok := d.Feed(i%2 == 0, us); ok && f.Code == c {
			return true
		}
	}
	f, ok := d.Feed(false, rawSilence)
	return ok && f.Code == c
}
