package walk

// ringSize is the number of buckets kept apart, a power of two.
const ringSize = 1024

// queue holds the cells that wait, in buckets of equal spans of time, so that
// cells come out of it nearly in order (Dial 1969; Denardo and Fox 1979). No
// bucket is wider than the quickest move takes, so nothing that is in the first
// one can still be improved by another of them but for rounding, and the search
// mends that by queuing the cell again.
//
// A cell may wait several times; the search throws out all but its last.
type queue struct {
	perSecond float64 // buckets a second
	now       int     // bucket that pop looks in
	waiting   int     // entries in the ring and far
	ring      [ringSize][]int32
	far       []int32 // entries for buckets beyond the ring
}

// bucket returns the bucket of a time; the last takes in all later ones.
func (q *queue) bucket(seconds float32) int { return int(min(float64(seconds)*q.perSecond, 1<<30)) }

func (q *queue) push(cell int32, seconds float32) {
	q.waiting++
	q.put(cell, seconds)
}

func (q *queue) put(cell int32, seconds float32) {
	if b := q.bucket(seconds); b < q.now+ringSize {
		slot := &q.ring[b%ringSize]
		*slot = append(*slot, cell)
		return
	}
	q.far = append(q.far, cell)
}

// pop returns a cell of the earliest bucket; nodes hold the times of the cells.
func (q *queue) pop(nodes []node) (cell int32, ok bool) {
	for q.waiting > 0 {
		slot := &q.ring[q.now%ringSize]
		if n := len(*slot); n > 0 {
			cell = (*slot)[n-1]
			*slot = (*slot)[:n-1]
			q.waiting--
			return cell, true
		}
		q.now++
		// What lay beyond the ring when it was queued lies within it by now,
		// for half a turn later at least half a ring is free.
		if q.now%(ringSize/2) == 0 && len(q.far) > 0 {
			q.bringNear(nodes)
		}
	}
	return 0, false
}

func (q *queue) bringNear(nodes []node) {
	far := q.far
	q.far = nil
	for _, cell := range far {
		// One that has come nearer since waits elsewhere too.
		if q.bucket(nodes[cell].best) < q.now {
			q.waiting--
			continue
		}
		q.put(cell, nodes[cell].best)
	}
	// When the ring is empty the next bucket may be a long way off.
	if len(q.far) == q.waiting && q.waiting > 0 {
		first := q.bucket(nodes[q.far[0]].best)
		for _, cell := range q.far {
			first = min(first, q.bucket(nodes[cell].best))
		}
		q.now = first - first%(ringSize/2)
		q.bringNear(nodes)
	}
}
