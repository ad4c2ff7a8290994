package sheet

import (
	"context"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// insetMM is the side of the small map of a page, insetBar what its scale takes below it.
const (
	insetMM  = 60
	insetBar = 9
)

// paperPage adds a page that somebody holds, with a small map of the ground that it is
// about where there is any, and the cautions.
func (d *doc) paperPage(ctx context.Context, r *job.Result, p Paper, paper overlay.Paper) error {
	_, err := d.paperFlow(ctx, r, p, paper)
	return err
}

func (d *doc) paperFlow(ctx context.Context, r *job.Result, p Paper, paper overlay.Paper) (*flow, error) {
	f := newFlow(d, r, p, paper.Heading)
	side := area{f.page.x1 - insetMM, f.page.y0 + 1, f.page.x1, f.page.y0 + 1 + insetMM + insetBar}
	drawn, err := d.inset(ctx, r, side, paper.Ground)
	if err != nil {
		return nil, err
	}
	f.beside = drawn
	f.lay(func(f *flow) {
		f.sections(paper.Sections)
		f.y = max(f.y, f.beside.y1)
		f.cautions()
	})
	return f, nil
}
