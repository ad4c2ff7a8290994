package main

import (
	"fmt"
	"os"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/geo/coord"
	"farhail/geo/mapfile"
)

// readPosition reads a POSITION argument: any notation of geo/coord, or FILE.gpx#NAME
// for the waypoint of that name.
func readPosition(arg string) (coord.Position, error) {
	file, name, ok := strings.Cut(arg, "#")
	if !ok || !strings.HasSuffix(strings.ToLower(file), ".gpx") {
		return coord.Parse(arg)
	}
	f, err := os.Open(file)
	if err != nil {
		return coord.Position{}, cli.InputError(file, err)
	}
	defer f.Close()
	gpx, err := mapfile.ReadGPX(f, file)
	if err != nil {
		return coord.Position{}, err
	}
	var names []string
	found := coord.Position{Notation: coord.NotationDecimal}
	matches := 0
	for _, w := range gpx.Waypoints {
		if w.Name == name {
			found.Point = w.Point
			matches++
		}
		names = append(names, w.Name)
	}
	switch {
	case matches == 1:
		return found, nil
	case matches > 1:
		return coord.Position{}, &cli.UsageError{Message: fmt.Sprintf("%s has %d waypoints named %q", file, matches, name), Text: arg,
			Advice: "give the position itself"}
	}
	advice := "it has no waypoints"
	if near := cli.Nearest(name, names); near != "" {
		advice = "did you mean " + file + "#" + near
	} else if len(names) > 0 {
		const most = 8
		advice = "its waypoints: " + strings.Join(names[:min(most, len(names))], ", ")
		if len(names) > most {
			advice += ", …"
		}
	}
	return coord.Position{}, &cli.UsageError{Message: fmt.Sprintf("%s has no waypoint named %q", file, name), Text: arg, Advice: advice}
}
