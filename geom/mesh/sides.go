package mesh

import (
	"math/bits"
	"slices"
)

// Sides numbers the sides of triangles from 0 in the order in which they are
// first seen: what is known of a side stands in a slice at its number. It is a
// hash table with open addressing, several times quicker than a map. The zero
// value is ready to use.
type Sides struct {
	keys  []uint64 // by number
	slots []int32  // number + 1, 0 where free; the length is a power of two
}

// Reset forgets all sides and makes room for n. Memory of before is used again.
func (s *Sides) Reset(n int) {
	s.keys = slices.Grow(s.keys[:0], n)
	s.grow(n)
}

// Len is how many sides have a number.
func (s *Sides) Len() int { return len(s.keys) }

// At is the side with number i.
func (s *Sides) At(i int) (a, b int32) { return int32(s.keys[i] >> 32), int32(s.keys[i]) }

// Find is the number of the side from a to b; the side from b to a is another
// one.
func (s *Sides) Find(a, b int32) (int, bool) {
	if len(s.slots) == 0 {
		return 0, false
	}
	i := s.slots[s.slot(sideKey(a, b))]
	return int(i) - 1, i > 0
}

// Add is the number of the side from a to b, which gets the next one if it has
// none yet.
func (s *Sides) Add(a, b int32) (i int, fresh bool) {
	if 2*(len(s.keys)+1) > len(s.slots) {
		s.grow(2 * (len(s.keys) + 1))
	}
	k := sideKey(a, b)
	at := s.slot(k)
	if n := s.slots[at]; n > 0 {
		return int(n) - 1, false
	}
	s.keys = append(s.keys, k)
	s.slots[at] = int32(len(s.keys))
	return len(s.keys) - 1, true
}

// AddEdge is Add for a side in either direction.
func (s *Sides) AddEdge(a, b int32) (i int, fresh bool) { return s.Add(min(a, b), max(a, b)) }

func sideKey(a, b int32) uint64 { return uint64(uint32(a))<<32 | uint64(uint32(b)) }

// slot is where a key stands or would stand: at most half of the slots are
// taken, so that a free one comes soon.
func (s *Sides) slot(k uint64) int {
	mask := len(s.slots) - 1
	// Fibonacci hashing: the odd integer nearest 2^64 over the golden ratio,
	// whose product's high bits are well mixed (Knuth, The Art of Computer
	// Programming 3, 6.4).
	for i := int(k * 0x9E3779B97F4A7C15 >> (64 - bits.Len(uint(mask)))); ; i++ {
		i &= mask
		if n := s.slots[i]; n == 0 || s.keys[n-1] == k {
			return i
		}
	}
}

// grow makes slots for n sides and puts in those at hand.
func (s *Sides) grow(n int) {
	size := max(8, 1<<bits.Len(uint(2*n)))
	if size <= cap(s.slots) {
		s.slots = s.slots[:size]
		clear(s.slots)
	} else {
		s.slots = make([]int32, size)
	}
	for i, k := range s.keys {
		s.slots[s.slot(k)] = int32(i + 1)
	}
}
