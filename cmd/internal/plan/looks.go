package plan

import (
	"slices"
	"strings"
)

// Looks says whether a text is meant as a plan: whether a key of the plan itself
// begins one of its lines, however far in.
func Looks(text string) bool {
	for _, line := range strings.Split(strings.TrimPrefix(text, "\uFEFF"), "\n") {
		if m := firstKey.FindStringSubmatch(strings.TrimLeft(line, " \t")); m != nil && slices.Contains(topKeys, m[1]) {
			return true
		}
	}
	return false
}
