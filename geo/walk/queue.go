package walk

// An entry is a cell waiting with the time by which it can be reached.
type entry struct {
	seconds float64
	cell    int32
}

// before orders by time, then by cell, so that equal times never depend on the
// order in which they came.
func (a entry) before(b entry) bool {
	return a.seconds < b.seconds || a.seconds == b.seconds && a.cell < b.cell
}

// queue is a heap with four children a node: shallower than one with two, and
// four entries lie in one cache line.
type queue []entry

func (q *queue) push(e entry) {
	list := append(*q, e)
	i := len(list) - 1
	for i > 0 {
		up := (i - 1) / 4
		if !e.before(list[up]) {
			break
		}
		list[i] = list[up]
		i = up
	}
	list[i] = e
	*q = list
}

// pop returns the earliest entry of a queue that is not empty.
func (q *queue) pop() entry {
	list := *q
	top, last := list[0], list[len(list)-1]
	list = list[:len(list)-1]
	*q = list
	if len(list) == 0 {
		return top
	}
	i := 0
	for {
		first := 4*i + 1
		if first >= len(list) {
			break
		}
		least := first
		for c := first + 1; c < min(first+4, len(list)); c++ {
			if list[c].before(list[least]) {
				least = c
			}
		}
		if !list[least].before(last) {
			break
		}
		list[i] = list[least]
		i = least
	}
	list[i] = last
	return top
}
