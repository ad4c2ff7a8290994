package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLooks(t *testing.T) {
	for text, want := range map[string]bool{
		"version: 1\nas_of: 2026-11-24T08:00Z\n": true, "\ufeff# a plan\r\nstarts:\r\n": true, "titel: x\nlooking : \n": true,
		"": false, "start: 42.5 1.5\nnorth: true\n060 100 m\n": false, "  version: 1\n": true, "\"person\": x\n": true, "060 100 m starts: here\n": false,
	} {
		assert.Equal(t, want, Looks(text), "%q", text)
	}
}
