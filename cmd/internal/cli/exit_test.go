package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// placed and binary are errors as the readers of other packages make them.
type placed struct{ file string }

func (e placed) Error() string             { return "wrong leg" }
func (e placed) Where() (string, int, int) { return e.file, 3, 7 }
func (e placed) Offending() string         { return "03x" }
func (e placed) Hint() string              { return "write a bearing" }

type binary struct{}

func (binary) Error() string { return "short file" }
func (binary) Offset() int64 { return 40 }
func (binary) Hint() string  { return "load it again" }

func TestExitCode(t *testing.T) {
	_, missing := os.Open("no such file")
	_, badQuantity := ParseQuantity("5", Length)
	for _, c := range []struct {
		name string
		err  error
		code int
		kind string
	}{
		{"nothing wrong", nil, 0, ""},
		{"anything", errors.New("no way"), 1, kindFailed},
		{"command line", &UsageError{Message: "x"}, 2, kindUsage},
		{"command line, wrapped", fmt.Errorf("fix: %w", &UsageError{Message: "x"}), 2, kindUsage},
		{"quantity of the command line", badQuantity, 2, kindUsage},
		{"place in a file", fmt.Errorf("log: %w", placed{"legs.txt"}), 3, kindInput},
		{"place in no file", placed{""}, 2, kindUsage},
		{"place in no file, of an input", InputError("legs.txt", placed{""}), 3, kindInput},
		{"byte in a file", fmt.Errorf("terrain: %w", binary{}), 3, kindInput},
		{"file that is not there", missing, 3, kindInput},
		{"marked input", InputError("a.gpx", errors.New("empty")), 3, kindInput},
		{"several, the first decides nothing", errors.Join(errors.New("a"), placed{"f"}), 3, kindInput},
		{"output that cannot be written", &outputError{&fs.PathError{Op: "open", Path: "x", Err: fs.ErrPermission}}, 1, kindFailed},
		{"output whose content fails on a place", &outputError{placed{"f"}}, 1, kindFailed},
		{"stopped", fmt.Errorf("seen area: %w", context.Canceled), 1, kindStopped},
	} {
		require.Equal(t, c.code, ExitCode(c.err), c.name)
		if c.err != nil {
			require.Equal(t, c.kind, kindOf(c.err), c.name)
		}
	}
	require.NoError(t, InputError("x", nil))
}

func TestFaults(t *testing.T) {
	p := func(s string) *string { return &s }
	n := func(i int) *int { return &i }
	require.Equal(t, []Fault{{Kind: "input", File: p("legs.txt"), Line: n(3), Column: n(7), Text: "log: wrong leg", Hint: p("write a bearing"), Near: p("03x")}},
		faults(fmt.Errorf("log: %w", placed{"legs.txt"})))
	require.Equal(t, []Fault{{Kind: "input", File: p("a.hgt"), Text: "short file", Hint: p("load it again")}},
		faults(InputError("a.hgt", binary{})))
	list := faults(errors.Join(errors.New("a"), errors.Join(placed{"f"}, errors.New("b"))))
	require.Len(t, list, 3)
	require.Equal(t, []string{"a", "wrong leg", "b"}, []string{list[0].Text, list[1].Text, list[2].Text})
	_, missing := os.Open("no such file")
	require.Equal(t, p("no such file"), faults(missing)[0].File)
	require.Equal(t, "stopped before it was done", faults(context.Canceled)[0].Text)
}
