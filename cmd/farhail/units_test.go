package main

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
)

// metricFigure is a length, an area or a speed in metric units.
var metricFigure = regexp.MustCompile(`[0-9] (km/h|km2|km|ha|m)\b[^\n]{0,60}`)

// metricOnMaps are what a map says in metric units to everybody: its grid and its contours
// are drawn in kilometres and metres, and so is one of its bars.
var metricOnMaps = regexp.MustCompile(`a line every [0-9.]+ km|\([0-9.]+ km\)|is 1?[0-9]{3}\.[0-9] m of ground|very [0-9]+ m \([0-9.]+ ft\)|[0-9] km$|Grid to 1 m`)

// words are those of a line of text, and not of a label.
var words = regexp.MustCompile(`[a-z]{3}`)

// TestImperialEverywhere: with --units imperial no figure of what people read is left in
// metric units, but for what is drawn in them, which says so.
func TestImperialEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("the whole demo is made")
	}
	inNewFolder(t, nil)
	code, answer, msg := farhail("demo", "-o", "out", "--units", "imperial")
	require.Equal(t, cli.ExitDone, code, msg)
	read := map[string]string{"answer": answer, "notes": msg}
	brief, err := os.ReadFile("out/brief.txt")
	require.NoError(t, err)
	read["brief.txt"] = string(brief)
	for name, args := range map[string][]string{
		"rings": {"rings", "--rule", "tobler", "--slope", "-50%"},
		"card":  {"card", "46.0 -20.0", "--date", "2026-12-21", "--light", "90cd", "--flag", "1x1m", "--whistle", "110dB"},
		"sight": {"sight", "--light", "90cd"},
	} {
		code, text, msg := farhail(append(args, "--units", "imperial")...)
		require.Equal(t, cli.ExitDone, code, msg)
		read[name] = text + msg
	}
	page, err := os.ReadFile("out/map.html")
	require.NoError(t, err)
	_, body, _ := strings.Cut(string(page), "</style>")
	body, _, _ = strings.Cut(body, "<script")
	read["map.html"] = body
	look := func(name, text string) {
		for _, line := range strings.Split(text, "\n") {
			if name == "sheet.pdf" && !words.MatchString(line) {
				continue // pieces of a label that runs along a line
			}
			line = metricOnMaps.ReplaceAllString(line, "")
			assert.NotRegexp(t, metricFigure, line, name)
		}
	}
	for name, text := range read {
		look(name, text)
	}
	look("sheet.pdf", runTool(t, "pdftotext", "-layout", "out/sheet.pdf", "-"))
}
