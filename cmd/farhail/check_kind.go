package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"farhail/cmd/internal/plan"
)

// Kinds of files that check knows.
const (
	kindPlan    = "plan"
	kindGPX     = "gpx"
	kindGeoJSON = "geojson"
	kindTerrain = "terrain"
	kindLog     = "log"
)

// headBytes is how much of a file is looked at to recognise it; a plan's first
// key may stand below a long comment.
const headBytes = 1 << 16

// rasterMark is how GeoTIFF, zip and Esri ASCII files begin.
var rasterMark = regexp.MustCompile(`(?i)^(II[*+]\x00|MM\x00[*+]|PK\x03\x04|(ncols|nrows|xllcorner|yllcorner|xllcenter|yllcenter)\s)`)

// logMark is a line of a leg log: a header, a bearing, or a table's row of names.
var logMark = regexp.MustCompile(`(?im)^[ \t]*((start|north|declination|date|pace)[ \t]*[:,;=]|[NS]?[ \t]*[0-9]|.*\bbearing\b)`)

// recognise says what kind of file a path is, by what it holds; its name
// decides only where that is open. "" is a file of none of the kinds.
func recognise(name string) (string, error) {
	info, err := os.Stat(name)
	if err != nil {
		return "", err
	}
	if info.IsDir() {
		return kindTerrain, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, headBytes))
	if err != nil {
		return "", err
	}
	return kindOfFile(name, unpacked(head)), nil
}

// unpacked is the beginning of what a gzip file holds; any other is returned as
// it is.
func unpacked(head []byte) []byte {
	z, err := gzip.NewReader(bytes.NewReader(head))
	if err != nil {
		return head
	}
	in, _ := io.ReadAll(io.LimitReader(z, headBytes)) // the end is cut off
	return in
}

func kindOfFile(name string, head []byte) string {
	ext := strings.ToLower(filepath.Ext(strings.TrimSuffix(strings.ToLower(name), ".gz")))
	switch ext {
	case ".hgt", ".tif", ".tiff", ".asc":
		return kindTerrain // whatever it holds, it is meant as terrain
	}
	text := bytes.TrimPrefix(head, []byte("\ufeff"))
	if wide := bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")); wide {
		text = bytes.ReplaceAll(head[2:], []byte{0}, nil) // UTF-16, good enough for the first sign
	}
	text = bytes.TrimSpace(text)
	first := byte(0)
	if len(text) > 0 {
		first = text[0]
	}
	switch {
	case rasterMark.Match(text), bytes.IndexByte(text, 0) >= 0: // an .hgt tile has no mark, but is no text
		return kindTerrain
	case first == '<', len(text) == 0 && ext == ".gpx":
		return kindGPX
	case ext == ".yaml", ext == ".yml":
		return kindPlan
	case first == '{', first == '[', ext == ".json", ext == ".geojson":
		return kindGeoJSON
	case plan.Looks(string(text)):
		return kindPlan
	case ext == ".gpx":
		return kindGPX
	case logMark.Match(text):
		return kindLog
	}
	return ""
}
