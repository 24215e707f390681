package timed

import (
	"cmp"
	"math/bits"
	"slices"
	"unsafe"
)

// A shelf holds the configurations of a location that has many of them, as it has where
// a long press goes on while the prop goes through states: by how far the press is
// ahead of the state's entry, for only where that meets do two zones have anything in
// common. Level k has those that it bounds within less than 1<<k milliseconds, in
// order of the least.
type shelf [53][]spread

type spread struct {
	least, most   int64
	configuration int32
}

const (
	manyAlike   = 16 // configurations of one location that are looked through one by one
	shelfBytes  = int(unsafe.Sizeof(shelf{}))
	spreadBytes = 2 * int(unsafe.Sizeof(spread{}))
)

// put adds a configuration with its zone.
func (s *shelf) put(z *zone, configuration int32) {
	e := spread{-z[sinceClock][heldClock], z[heldClock][sinceClock], configuration}
	level := &s[bits.Len64(uint64(e.most-e.least))]
	at, _ := slices.BinarySearchFunc(*level, e.least, byLeast)
	*level = slices.Insert(*level, at, e)
}

// near adds to a list the configurations that can have something of a zone, in the
// order in which they were found.
func (s *shelf) near(z *zone, list []int32) []int32 {
	least, most := -z[sinceClock][heldClock], z[heldClock][sinceClock]
	for k, level := range s {
		from, _ := slices.BinarySearchFunc(level, least-1<<k, byLeast)
		for _, e := range level[from:] {
			if e.least > most {
				break
			}
			if e.most >= least {
				list = append(list, e.configuration)
			}
		}
	}
	slices.Sort(list)
	return list
}

func byLeast(e spread, least int64) int { return cmp.Compare(e.least, least) }
