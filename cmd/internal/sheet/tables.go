package sheet

import (
	"context"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// textPages adds the pages of text: the trip sheet, the tables, and a page for everybody
// who looks.
func (d *doc) textPages(ctx context.Context, r *job.Result, p Paper) error {
	if r.Trip != nil {
		if err := d.paperPage(ctx, r, p, overlay.TripPaper(r)); err != nil {
			return err
		}
	}
	d.tablesPage(r, p)
	for _, paper := range overlay.PartyPapers(r) {
		if err := d.paperPage(ctx, r, p, paper); err != nil {
			return err
		}
	}
	return nil
}

// tablesPage adds the page of tables: how far the signals show, the times of the day,
// the way home, the places on the map, and the cautions.
func (d *doc) tablesPage(r *job.Result, p Paper) *flow {
	paper := overlay.SightPaper(r)
	f := newFlow(d, r, p, paper.Heading)
	f.lay(func(f *flow) {
		f.sections(paper.Sections[:1])
		f.timebar()
		f.sections(paper.Sections[1:])
		f.cautions()
	})
	return f
}
