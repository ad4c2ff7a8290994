package main

import (
	"fmt"
	"strings"
)

// planFiles are what plan -o writes, for the help; a test holds them against outputs.
var planFiles = []struct{ name, what string }{
	{"sheet.pdf", "the map at true scale, the tables, a page for each party"},
	{"map.html", "the map to look at: one file, no network"},
	{"brief.txt", "what a leader reads aloud"},
	{"plan.geojson", "all of the map for other programs (RFC 7946)"},
	{"plan.kml", "the same in the colours of the key (KML 2.2)"},
	{"plan.gpx", "what serves on a handheld (GPX 1.1)"},
	{"next-….gpx", "of each party that searches next, with an effort"},
	{"trip.txt", "what the contact keeps, with a trip"},
	{"legs.csv", "the log, a row a leg, with a log"},
	{"segments.csv", "the search areas, with a likelihood"},
	{"chance.tif", "the likelihood as it is now, share per km2 (GeoTIFF)"},
	{"reach.tif", "seconds until the usual walker arrives, with rings over terrain (GeoTIFF)"},
	{"result.json", "every figure with what it rests on"},
}

func outputsHelp() string {
	var b strings.Builder
	for _, f := range planFiles {
		fmt.Fprintf(&b, "  %-13s %s\n", f.name, f.what)
	}
	return b.String()
}
