package prob

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// ErrOrder says that inputs of a history are not in the order of time.
var ErrOrder = errors.New("prob: an input is older than the one before it")

// A History is a surface and what has been learnt since: a list of inputs. It is
// never changed; what it leads to is replayed. To undo an input is to replay a list
// without it.
type History struct {
	Start  *Surface
	Inputs []Entry
}

// An Entry is one input with its name and time.
type Entry struct {
	Name  string
	At    time.Time // zero where it is not known
	Input Input
}

// A State is what one input has made of the surface.
type State struct {
	Name        string
	Expected    float64 // chance that the surface before gave to what happened; 1 less POS of a search
	Sum         float64 // probability on the map
	Outside     float64 // probability beyond it
	EntropyBits float64
}

// With returns the history with one more input.
func (h History) With(e Entry) History {
	return History{h.Start, append(slices.Clip(h.Inputs), e)}
}

// Replay works the inputs through, the oldest first, and returns the surface now and
// the state after each. Inputs whose times are known must be in order, or it is
// ErrOrder: what moves between two searches depends on it.
func (h History) Replay() (*Surface, []State, error) {
	s := h.Start
	states := make([]State, 0, len(h.Inputs))
	var last time.Time
	for i, e := range h.Inputs {
		if !e.At.IsZero() {
			if e.At.Before(last) {
				return nil, states, fmt.Errorf("%w: %s (input %d)", ErrOrder, e.Name, i+1)
			}
			last = e.At
		}
		after, expected, err := e.Input.apply(s)
		if err != nil {
			return nil, states, fmt.Errorf("%s (input %d): %w", e.Name, i+1, err)
		}
		s = after
		states = append(states, State{e.Name, expected, s.Sum(), s.Outside, s.EntropyBits()})
	}
	return s, states, nil
}
