package sheet

import (
	"context"
	"io"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// Options say what a sheet is printed on. The zero value is A4 at a scale that is
// chosen.
type Options struct {
	Paper Paper
	Scale int // 25000 for 1:25 000; 0 = chosen
}

// Write prints the sheet of a result: the map, and the pages of text that go with it.
func Write(ctx context.Context, w io.Writer, r *job.Result, o Options) error {
	d := newDoc(overlay.DocumentName(r), r.Program, r.Plan.AsOf)
	if err := d.mapPages(ctx, r, o); err != nil {
		return err
	}
	if err := d.textPages(ctx, r, o.Paper); err != nil {
		return err
	}
	d.feet(r)
	return d.write(w)
}
