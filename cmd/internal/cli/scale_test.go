package cli

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseScale(t *testing.T) {
	for text, want := range map[string]int{"1:25000": 25000, "1:25 000": 25000, " 1 : 100'000": 100000, "1/50000": 50000, "1:5000": 5000, "1:24000": 24000} {
		got, err := ParseScale(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "25000", "1:25", "1:4999", "1:200001", "1:25k", "2:25000", "1:25 00", "1:99999999999999999999", "1:-25000"} {
		_, err := ParseScale(text)
		var q *QuantityError
		require.True(t, errors.As(err, &q), text)
		assert.NotEmpty(t, q.Hint(), text)
	}
}
