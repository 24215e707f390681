package machine_test

// A matrix over the two-element field: the images of the 32 unit vectors.
type matrix [32]uint32

func identity() (m matrix) {
	for i := range m {
		m[i] = 1 << i
	}
	return m
}

func (m matrix) times(x uint32) (y uint32) {
	for i := range m {
		if x>>i&1 == 1 {
			y ^= m[i]
		}
	}
	return y
}

// after is m after n.
func (m matrix) after(n matrix) (p matrix) {
	for i := range n {
		p[i] = m.times(n[i])
	}
	return p
}

func (m matrix) power(n uint64) matrix {
	p := identity()
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			p = p.after(m)
		}
		m = m.after(m)
	}
	return p
}
