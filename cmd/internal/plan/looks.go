package plan

import (
	"slices"
	"strings"
)

// Looks says whether a text is meant as a plan: whether one of its lines begins
// with a key of the plan itself.
func Looks(text string) bool {
	for _, line := range strings.Split(strings.TrimPrefix(text, "\uFEFF"), "\n") {
		if key, _, ok := strings.Cut(line, ":"); ok && slices.Contains(topKeys, strings.TrimRight(key, " ")) {
			return true
		}
	}
	return false
}
