package sheet

import (
	"context"
	"os"
	"testing"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"io/fs"
)

type disk struct{}

func (disk) Open(n string) (fs.File, error) { return os.Open(n) }

func TestLook(t *testing.T) {
	p, err := plan.Read(disk{}, os.Getenv("LOOK"))
	if err != nil {
		t.Skip(err)
	}
	r, err := job.Run(context.Background(), disk{}, p, job.Options{Program: "farhail 0.1 (WMM2025)"})
	if err != nil {
		t.Fatal(err)
	}
	d := newDoc(overlay.DocumentName(r), r.Program, r.Plan.AsOf)
	if err := d.textPages(context.Background(), r, A4); err != nil {
		t.Fatal(err)
	}
	d.feet(r)
	f, _ := os.Create(os.Getenv("LOOKOUT"))
	if err := d.write(f); err != nil {
		t.Fatal(err)
	}
	f.Close()
	tx, _ := os.Create(os.Getenv("LOOKOUT") + ".txt")
	if r.Trip != nil {
		overlay.Trip(tx, r)
	}
	tx.Close()
}
