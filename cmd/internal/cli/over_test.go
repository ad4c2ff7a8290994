package cli

import (
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOver(t *testing.T) {
	var s Series
	var visibility, width, height float64
	var word string
	var files []string
	fresh := func() *cobra.Command {
		s = Series{}
		cmd := &cobra.Command{}
		Quantity(cmd, &visibility, "visibility", Length.Positive(), "10km", "")
		Size(cmd, &width, &height, "flag", Length, "", "")
		Choice(cmd, &word, "law", []string{"one", "two"}, "", "")
		Files(cmd, &files, "terrain", "")
		cmd.Flags().Bool("flat", false, "")
		Over(cmd, &s, "over", "")
		return cmd
	}
	values := func(args ...string) (got []float64, err error) {
		cmd := fresh()
		require.NoError(t, cmd.ParseFlags(args))
		err = s.Each(func(string) error { got = append(got, visibility); return nil })
		return got, err
	}
	got, err := values("--over", "visibility=1km, 500m ,20km")
	assert.NoError(t, err)
	assert.Equal(t, []float64{1000, 500, 20000}, got)
	assert.Equal(t, []string{"1km", "500m", "20km"}, s.Texts)

	cmd := fresh()
	require.NoError(t, cmd.ParseFlags([]string{"--over", "--law=two,one"}))
	words := ""
	require.NoError(t, s.Each(func(text string) error { words += text + word + " "; return nil }))
	assert.Equal(t, "twotwo oneone ", words)

	for _, tt := range []struct{ text, word, hint string }{
		{"visibility", "not a flag and its values", "visibility=1km"},
		{"=1km", "not a flag and its values", ""},
		{"visibilty=1km", "no such flag", "did you mean visibility"},
		{"terrain=a,b", "cannot be varied", ""},
		{"flat=true", "cannot be varied", ""},
		{"over=1", "cannot be varied", ""},
	} {
		fresh()
		err := s.read(tt.text)
		require.ErrorContains(t, err, tt.word, tt.text)
		var h hinted
		require.ErrorAs(t, err, &h)
		assert.Contains(t, h.Hint(), tt.hint)
	}
	assert.ErrorContains(t, fresh().ParseFlags([]string{"--over", "visibility=1km", "--over", "flag=1x1m"}), "varies a second flag")

	var u *UsageError
	for _, tt := range []struct {
		args       []string
		word, hint string
	}{
		{[]string{"--over", "visibility=1km,5"}, `--over visibility: "5"`, "5km"},
		{[]string{"--over", "visibility=1km,,5km"}, "is missing", ""},
		{[]string{"--over", "visibility=1km,-5km"}, "--over visibility", ""},
		{[]string{"--over", "visibility=1km", "--visibility", "2km"}, "given by itself", "leave out"},
	} {
		_, err := values(tt.args...)
		require.ErrorAs(t, err, &u, tt.args)
		assert.Contains(t, u.Message, tt.word)
		assert.Contains(t, u.Advice, tt.hint)
	}
	cmd = fresh()
	require.NoError(t, cmd.ParseFlags([]string{"--over", "visibility=1km"}))
	err = s.Each(func(string) error { return &UsageError{Message: "too far", Advice: "come nearer"} })
	require.ErrorAs(t, err, &u)
	assert.Equal(t, UsageError{Message: "--over visibility=1km: too far", Text: "1km", Advice: "come nearer"}, *u)
}
