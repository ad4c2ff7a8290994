package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// sightTable is the answer to --over.
type sightTable struct {
	Over string     `json:"over"` // the flag that is varied
	Rows []sightRow `json:"rows"`
}

// A sightRow is the answer for one value of it, with the keys of a single one.
type sightRow struct {
	Value string `json:"value"` // as typed
	*job.SightResult
}

// registerOver adds the flag of the table.
func (f *sightFlags) registerOver(cmd *cobra.Command) {
	cli.Over(cmd, &f.over, "over", "a flag and its `values`, one row of a table each (visibility=1km,5km,20km)")
}

// table judges the signal once for each value of the varied flag.
func (f *sightFlags) table(ctx context.Context, app *cli.App) error {
	if f.out != "" {
		return &cli.UsageError{Message: "-o draws one signal, and --over varies it", Text: "-o", Advice: "leave out one of them"}
	}
	t := sightTable{Over: f.over.Flag, Rows: []sightRow{}}
	err := f.over.Each(func(text string) error {
		one := *f // reading the flags fills in more of them
		result, _, err := one.judge(ctx, app)
		if err == nil {
			t.Rows = append(t.Rows, sightRow{text, result})
		}
		return err
	})
	if err != nil {
		return err
	}
	return app.Print(t, t.print)
}

func (t sightTable) print(w cli.Text) {
	wide, pass := len(t.Over), false
	for _, r := range t.Rows {
		wide, pass = max(wide, len(r.Value)), pass || given(float64(r.SweepWidthM))
	}
	fmt.Fprintf(w, "%s\n  %-*s  noticed   low to high            perceptible  ", t.Rows[0].Signal, wide, t.Over)
	if pass {
		fmt.Fprintf(w, "sweep width  ")
	}
	fmt.Fprintln(w, "noticed is ended by")
	for _, r := range t.Rows {
		fmt.Fprintf(w, "  %-*s  %-8s  %-21s  %-11s  ", wide, r.Value, w.Distance(float64(r.NoticedM)),
			span(w.Words, float64(r.Low.NoticedM), float64(r.High.NoticedM)), w.Distance(float64(r.PerceptibleM)))
		if pass {
			width := notAsked
			if given(float64(r.SweepWidthM)) {
				width = w.Distance(float64(r.SweepWidthM))
			}
			fmt.Fprintf(w, "%-11s  ", width)
		}
		fmt.Fprintln(w, r.LimitNoticed)
	}
}

// notAsked stands in a column that a row has nothing for: a width without a pass, a
// band of a sound.
const notAsked = "-"

// span writes a band of distances.
func span(w cli.Words, lowM, highM float64) string {
	if !given(lowM) {
		return notAsked
	}
	return w.Distance(lowM) + " to " + w.Distance(highM)
}
