package sheet

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/geotest"
)

// files are files in memory, over those of a folder.
type files struct {
	fs.FS
	own map[string][]byte
}

func (f files) Open(name string) (fs.File, error) {
	if data, ok := f.own[name]; ok {
		return &memory{bytes.NewReader(data), name}, nil
	}
	return f.FS.Open(name)
}

type memory struct {
	*bytes.Reader
	name string
}

func (m *memory) Stat() (fs.FileInfo, error) { return m, nil }
func (m *memory) Close() error               { return nil }
func (m *memory) Name() string               { return path.Base(m.name) }
func (m *memory) Mode() fs.FileMode          { return 0o444 }
func (m *memory) ModTime() time.Time         { return time.Time{} }
func (m *memory) IsDir() bool                { return false }
func (m *memory) Sys() any                   { return nil }

// valley is rough ground where the demo's plan is, in cells of some 60 m.
func valley() []byte {
	const n = 200
	out := []byte(fmt.Sprintf("ncols %d\nnrows %d\nxllcenter -20.08\nyllcenter 45.9443\ndx 0.0008\ndy 0.00056\nnodata_value -9999\n", n, n))
	for row := range n {
		for col := range n {
			x, y := float64(col)/n, float64(n-1-row)/n
			across := x - y + 0.1*math.Sin(9*(x+y))
			z := 900 + 400*(x+y) + 1200*(1-math.Exp(-9*across*across)) + 40*math.Sin(40*x)*math.Sin(47*y)
			out = append(strconv.AppendFloat(out, z, 'f', 1, 64), ' ')
		}
		out[len(out)-1] = '\n'
	}
	return out
}

// demo is the result of the demo's plan on the valley, worked out once: it does not change.
var demo = sync.OnceValues(func() (*job.Result, error) {
	root, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	folder := os.DirFS(filepath.Join(root, "..", "..", "farhail", "demo"))
	return done(files{folder, map[string][]byte{"terrain.asc": valley()}}, "plan.yaml")
})

func done(fsys fs.FS, name string) (*job.Result, error) {
	p, err := plan.Read(fsys, name)
	if err != nil {
		return nil, err
	}
	return job.Run(context.Background(), fsys, p, job.Options{Program: "farhail test"})
}

func demoResult(t *testing.T) *job.Result {
	r, err := demo()
	require.NoError(t, err)
	return r
}

// planned does a plan that is given as text; its paths start in the shared data.
func planned(t *testing.T, text string) *job.Result {
	r, err := done(files{os.DirFS(filepath.Join(geotest.Shared(t), "data")), map[string][]byte{"plan.yaml": []byte(text)}}, "plan.yaml")
	require.NoError(t, err)
	return r
}

// andorra is a search on steep real ground.
const andorra = `version: 1
title: Exercise on the high route
example: true
as_of: 2026-11-24 19:00
zone: Europe/Andorra
terrain: dem/N42E001.hgt.zip
weather: {visibility: 20 km}
hours: [2026-11-24 21:00]
starts:
  - {name: path above the river, kind: last-known, position: 42.5555 1.5711, error: 100 m, time: 2026-11-24 14:00, source: hut book, superseded_by: ford}
  - {name: ford, kind: last-seen, position: 42.5600 1.5790, error: 300 m, time: 2026-11-24 15:00, source: a walker}
traveller:
  after: [1 h]
  signals:
    - {name: lamp, light: 2 cd, rated_time: 8 h, lit_from: 2026-11-24 18:00}
    - {name: fire, fire: 10 kW, bed: 0.3 m, height: 0.5 m}
looking:
  parties:
    - {name: Trail party, route: gpx/andorra-gr11.gpx, people: 2, start: 2026-11-24 19:30}
  lookouts:
    - {name: East lookout, position: 42.5570 1.5900, from: 2026-11-24 19:00, until: 2026-11-24 23:00}
    - {name: West lookout, position: 42.5620 1.5600, from: 2026-11-24 19:00, until: 2026-11-24 23:00}
`
