package walk

// ringSize is the number of buckets kept apart, a power of two.
const ringSize = 1024

// An entry is a cell that waits, with the time at which it was reached. Once the
// cell has been reached earlier the entry is stale.
type entry struct {
	cell    int32
	seconds float32
}

// A page holds entries of one bucket; full ones hang behind it.
type page struct {
	n       int
	next    *page
	entries [256]entry
}

// queue holds the cells that wait, in buckets of equal spans of time, so that
// cells come out of it nearly in order (Dial 1969; Denardo and Fox 1979). No
// bucket is wider than the quickest move takes, so nothing that is in the first
// one can still be improved by another of them but for rounding, and the search
// mends that by queuing the cell again. The cells of one bucket may therefore be
// settled in any order and at once.
type queue struct {
	perSecond float64 // buckets a second
	now       int     // bucket that is being settled
	ring      [ringSize]*page
	inRing    int // pages in the ring
	far       *page
	free      *page
}

// bucket returns the bucket of a time; the last takes in all later ones.
func (q *queue) bucket(seconds float32) int { return int(min(float64(seconds)*q.perSecond, 1<<30)) }

func (q *queue) push(e entry) {
	slot := &q.far
	if b := q.bucket(e.seconds); b < q.now+ringSize {
		slot = &q.ring[b%ringSize]
	}
	p := *slot
	if p == nil || p.n == len(p.entries) {
		p = q.page(p)
		if slot != &q.far {
			q.inRing++
		}
		*slot = p
	}
	p.entries[p.n] = e
	p.n++
}

// page returns an empty page in front of another.
func (q *queue) page(next *page) *page {
	p := q.free
	if p == nil {
		p = new(page)
	} else {
		q.free = p.next
	}
	p.next = next
	return p
}

// release takes back a page that has been settled.
func (q *queue) release(p *page) {
	p.n, p.next = 0, q.free
	q.free = p
}

// take removes the pages of the present bucket and appends them to a list.
func (q *queue) take(list []*page) []*page {
	slot := &q.ring[q.now%ringSize]
	for p := *slot; p != nil; p = p.next {
		list = append(list, p)
		q.inRing--
	}
	*slot = nil
	return list
}

// turn goes on to a bucket. What lay beyond the ring when it was queued is
// brought near at every half turn, for half a turn later at least half a ring
// is free.
func (q *queue) turn(to int) {
	q.now = to
	if to%(ringSize/2) != 0 {
		return
	}
	far := q.far
	q.far = nil
	for p := far; p != nil; {
		next := p.next
		for _, e := range p.entries[:p.n] {
			q.push(e)
		}
		q.release(p)
		p = next
	}
}

// first returns the first bucket beyond the ring, and whether there is one.
func (q *queue) first() (bucket int, ok bool) {
	for p := q.far; p != nil; p = p.next {
		for _, e := range p.entries[:p.n] {
			if b := q.bucket(e.seconds); !ok || b < bucket {
				bucket, ok = b, true
			}
		}
	}
	return bucket, ok
}
