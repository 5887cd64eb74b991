package fit

// setSize is how many ways of turning out a fact is sorted into at most; a
// rule of MaxValues values can tell few more apart on one fact.
const setSize = 256

// set is a set of the ways in which a fact may turn out.
type set [setSize / 64]uint64

func (s *set) add(n int) { s[n/64] |= 1 << (n % 64) }

func (s set) and(o set) set {
	for i := range s {
		s[i] &= o[i]
	}
	return s
}

func (s set) empty() bool { return s == set{} }

// full has the first n ways.
func full(n int) set {
	var s set
	for i := range n {
		s.add(i)
	}
	return s
}
