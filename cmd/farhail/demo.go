package main

import (
	"bytes"
	"context"
	"embed"
	"io/fs"
	"path"
	"time"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
)

//go:embed demo/plan.yaml demo/log.txt demo/terrain.prj demo/*.gpx
var demoFiles embed.FS

// demoFolder is where the demo's outputs go unless -o says otherwise.
const demoFolder = "farhail-demo"

func newDemo(app *cli.App) *cobra.Command {
	o := planOutput{folder: demoFolder}
	cmd := app.Command(cli.Verb{
		Use:   "demo [flags]",
		Short: "the main job on a built-in, invented search",
		Long: `demo does the whole job of farhail plan on an invented search in an invented
valley: no file and no network are needed. It prints the ten-line answer and
writes the same files as plan.`,
		Examples: []cli.Example{
			{Line: "farhail demo", Answers: "see the main job done, in ./" + demoFolder + "/"},
			{Line: "farhail demo -o valley --json", Answers: "the same in another folder, as JSON"},
		},
		Failed: "the output folder cannot be written",
		Run: func(ctx context.Context, _ []string) error {
			return runPlan(ctx, app, demoFS{}, "demo/plan.yaml", nil, o)
		},
	})
	cmd.Flags().StringVarP(&o.folder, "output", "o", o.folder, "output `folder`")
	o.flags(cmd)
	return cmd
}

// demoFS holds the demo's files, the terrain made when it is opened.
type demoFS struct{}

func (demoFS) Open(name string) (fs.File, error) {
	if name == "demo/terrain.asc" {
		data := demoTerrain()
		return &memoryFile{bytes.NewReader(data), int64(len(data)), path.Base(name)}, nil
	}
	return demoFiles.Open(name)
}

// memoryFile is a read-only file in memory.
type memoryFile struct {
	*bytes.Reader
	size int64
	name string
}

func (f *memoryFile) Stat() (fs.FileInfo, error) { return memoryInfo{f}, nil }
func (f *memoryFile) Close() error               { return nil }

type memoryInfo struct{ f *memoryFile }

func (i memoryInfo) Name() string       { return i.f.name }
func (i memoryInfo) Size() int64        { return i.f.size }
func (i memoryInfo) Mode() fs.FileMode  { return 0o444 }
func (i memoryInfo) ModTime() time.Time { return time.Time{} }
func (i memoryInfo) IsDir() bool        { return false }
func (i memoryInfo) Sys() any           { return nil }
