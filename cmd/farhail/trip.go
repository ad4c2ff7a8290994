package main

import (
	"io"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// tripFiles is what the traveller of a trip leaves with their contact, none where the
// plan is of no trip.
func tripFiles(r *job.Result) []cli.File {
	if r.Trip == nil {
		return nil
	}
	return []cli.File{{Name: "trip.txt", Write: func(w io.Writer) error { return overlay.Trip(w, r) }}}
}
