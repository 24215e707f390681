package machine

// Xorshift is the random sequence of the machine and of the player: xorshift32
// with the shifts 13, 17, 5. Every number but 0 comes once in 2^32-1 draws.
//
// George Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14),
// 2003, section 3.
type Xorshift uint32

// Seed starts a sequence; 0, from which the sequence would never move,
// counts as 1.
func Seed(seed uint32) Xorshift {
	if seed == 0 {
		seed = 1
	}
	return Xorshift(seed)
}

// Next is the sequence's next number.
func (x *Xorshift) Next() uint32 {
	*x ^= *x << 13
	*x ^= *x >> 17
	*x ^= *x << 5
	return uint32(*x)
}

// Draw is a number from lo..hi, both included; lo must not be greater than
// hi, and the range not the whole of uint32. Nothing is drawn where lo = hi.
func (x *Xorshift) Draw(lo, hi uint32) uint32 {
	if lo == hi {
		return lo
	}
	return lo + x.Next()%(hi-lo+1)
}
