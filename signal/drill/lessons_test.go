package drill

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestFiguresChooseTheLessons(t *testing.T) {
	nan := math.NaN()
	// Nothing handed in: what cannot be judged.
	nothing := Figures{FoundS: nan, ChanceOfSighting: nan, BestPass: nan, BestWatch: nan, Coverage: nan, POD: nan, RankScore: nan, LogErrorShare: nan}
	require.Equal(t, []Lesson{NoTracks, NoAreas, NoLogs}, nothing.Lessons())

	good := Figures{FoundS: 3600, ChanceOfSighting: 0.8, BestPass: 0.8, BestWatch: 0.7, Coverage: 1, POD: 0.6, RankScore: 0.9, LogErrorShare: 0.04, Tracks: 3}
	require.Equal(t, []Lesson{MapGood, Covered, LogGood}, good.Lessons())
	// One figure changed at a time flips one lesson.
	for _, tc := range []struct {
		name   string
		change func(f *Figures)
		want   Lesson
	}{
		{"not found, though somebody passed", func(f *Figures) { f.FoundS = nan }, PassedBy},
		{"not found, in sight of a lookout alone", func(f *Figures) { f.FoundS, f.BestPass = nan, 0.1 }, Overlooked},
		{"not found, nobody near", func(f *Figures) { f.FoundS, f.ChanceOfSighting, f.BestPass, f.BestWatch = nan, 0.05, 0.05, nan }, NeverNear},
		{"a report elsewhere", func(f *Figures) { f.Strays = 1 }, Strays},
		{"areas elsewhere", func(f *Figures) { f.RankScore = -0.2 }, MapOff},
		{"little walked", func(f *Figures) { f.Coverage, f.POD = 0.3, 0.2 }, Thin},
		{"walked twice", func(f *Figures) { f.POD = 0.4 }, Overlapped},
		{"log astray", func(f *Figures) { f.LogErrorShare = 0.2 }, LogOff},
		{"no times", func(f *Figures) { f.Untimed = 2 }, Untimed},
		{"found by luck", func(f *Figures) { f.ChanceOfSighting = 0.1 }, Lucky},
	} {
		f := good
		tc.change(&f)
		require.Equal(t, tc.want, f.Lessons()[0], tc.name)
		require.NotContains(t, good.Lessons(), tc.want, tc.name)
	}
	middling := good
	middling.RankScore = 0.3
	require.Equal(t, []Lesson{Covered, LogGood, MapMiddling}, middling.Lessons())
}

func TestThereAreAlwaysThreeLessons(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	some := func(from, to float64) float64 {
		if r.IntN(3) == 0 {
			return math.NaN()
		}
		return from + (to-from)*r.Float64()
	}
	for range 5000 {
		f := Figures{
			FoundS: some(0, 1e4), ChanceOfSighting: some(0, 1), BestPass: some(0, 1), BestWatch: some(0, 1), RankScore: some(-1, 1), LogErrorShare: some(0, 0.3),
			Strays: r.IntN(2), Untimed: r.IntN(2), Tracks: r.IntN(3), Coverage: math.NaN(), POD: math.NaN(),
		}
		if f.Tracks > 0 {
			f.Coverage, f.POD = 3*r.Float64(), r.Float64()
		}
		list := f.Lessons()
		require.Len(t, list, LessonsTold, "%+v", f)
		require.NotEqual(t, list[0], list[1])
		require.NotEqual(t, list[1], list[2])
	}
}
