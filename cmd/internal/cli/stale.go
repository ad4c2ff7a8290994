package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
)

// ownName matches the names of all files that are written into a plan's folder beside
// result.json: no other is ever taken out of a folder.
var ownName = regexp.MustCompile(`^(plan\.(geojson|gpx|kml)|sheet\.pdf|map\.html|brief\.txt|trip\.txt|chance\.tif|reach\.tif|legs\.csv|segments\.csv|next-[0-9]+-[a-z0-9-]+\.gpx)$`)

// OwnName reports whether a name is one of those that a plan's folder may hold.
func OwnName(name string) bool { return name == lastFile || ownName.MatchString(name) }

// stale lists the files in a folder that an earlier run wrote and this one does not: those
// that the result.json there lists, by names of ours, as far as they are plain files. A
// party's file of yesterday would send it to yesterday's area.
func stale(dir string, files []File) []string {
	data, err := os.ReadFile(filepath.Join(dir, lastFile))
	if err != nil {
		return nil
	}
	var old struct {
		Files []string `json:"files"`
	}
	if json.Unmarshal(data, &old) != nil {
		return nil
	}
	var list []string
	for _, name := range old.Files {
		if !ownName.MatchString(name) || slices.ContainsFunc(files, func(f File) bool { return f.Name == name }) {
			continue
		}
		path := filepath.Join(dir, name)
		if info, err := os.Lstat(path); err == nil && info.Mode().IsRegular() {
			list = append(list, path)
		}
	}
	return list
}
