package cli

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// screen keeps what is written and tells of each write.
type screen struct {
	bytes.Buffer
	wrote chan struct{}
}

func (s *screen) Write(b []byte) (int, error) {
	n, err := s.Buffer.Write(b)
	select {
	case s.wrote <- struct{}{}:
	default:
	}
	return n, err
}

func TestMeterShowsAndErasesItsLine(t *testing.T) {
	s := &screen{wrote: make(chan struct{}, 1)}
	m := newMeter(s, "see", time.Millisecond)
	<-s.wrote
	m.end()
	m.end()
	lines := strings.Split(s.String(), "\r")
	require.Equal(t, "farhail: see, 1ms", lines[1])
	n := len(lines)
	require.Empty(t, strings.TrimSpace(lines[n-2]), "the line is blanked")
	require.GreaterOrEqual(t, len(lines[n-2]), len(lines[1]))
	require.Empty(t, lines[n-1])
}

func TestMeterOfShortWorkShowsNothing(t *testing.T) {
	s := &screen{wrote: make(chan struct{}, 1)}
	newMeter(s, "see", time.Hour).end()
	require.Empty(t, s.String())
	var none *meter
	none.end()
}

func TestOnlyATerminalIsOne(t *testing.T) {
	require.False(t, isTerminal(&bytes.Buffer{}))
	f, err := os.Create(t.TempDir() + "/x")
	require.NoError(t, err)
	defer f.Close()
	require.False(t, isTerminal(f))
}
