package drill

import "math"

// A Lesson is one plain thing that the figures of a drill teach.
type Lesson string

// The lessons, the gravest first; the order is that in which they are chosen. What
// went wrong comes before what went well, and last what could not be judged.
const (
	PassedBy    Lesson = "passed-by"    // somebody who should have noticed did not, or did not say so
	Overlooked  Lesson = "overlooked"   // a lookout should have noticed and did not, or did not say so
	NeverNear   Lesson = "never-near"   // the search as walked had hardly a chance
	Strays      Lesson = "strays"       // reports far from anything hidden
	MapOff      Lesson = "map-off"      // the drawn areas lay elsewhere
	Thin        Lesson = "thin"         // too little was walked for the ground
	Overlapped  Lesson = "overlapped"   // much was walked, over the same ground
	LogOff      Lesson = "log-off"      // a log led astray
	Untimed     Lesson = "untimed"      // reports without a time
	Lucky       Lesson = "lucky"        // found against the odds
	MapGood     Lesson = "map-good"     // the drawn areas pointed the right way
	Covered     Lesson = "covered"      // the ground was walked well
	LogGood     Lesson = "log-good"     // a log held
	MapMiddling Lesson = "map-middling" // the drawn areas did little better than chance
	NoTracks    Lesson = "no-tracks"    // nobody knows where they walked
	NoAreas     Lesson = "no-areas"     // no map was drawn
	NoLogs      Lesson = "no-logs"      // no log was kept
)

// Limits of the figures between lessons, all own choice.
const (
	LikelySeen   = 0.5 // chance at which somebody who passed should have noticed
	UnlikelySeen = 0.2 // chance below which a find is luck
	HardlySeen   = 0.1 // chance below which nobody came near enough
	ThinCoverage = 0.5 // coverage that finds about four in ten by random search
	LawGap       = 0.1 // by which the POD stays below that of random search where ways overlap
	GoodRank     = 0.7 // rank score with the find in the best sixth of the map
	PoorLog      = 0.1 // error at the end as a share of the way: twice the usual sd of a leg
	LessonsTold  = 3   // how many are chosen
)

// Figures are those that lessons are chosen by. NaN: not known.
type Figures struct {
	FoundS           float64
	ChanceOfSighting float64
	BestPass         float64 // largest chance of one party that passed within sight
	BestWatch        float64 // largest chance of one lookout that had it in sight
	Coverage, POD    float64
	RankScore        float64
	LogErrorShare    float64 // of the log that led farthest astray
	Strays, Untimed  int     // reports
	Tracks           int
}

// Lessons returns the first LessonsTold lessons that hold. Tracks, areas and logs
// each give one whatever the figures are, so that there are always as many.
func (f Figures) Lessons() []Lesson {
	found := !math.IsNaN(f.FoundS)
	thin := f.Coverage < ThinCoverage
	overlapped := !thin && f.POD < 1-math.Exp(-f.Coverage)-LawGap
	known := !math.IsNaN(f.ChanceOfSighting)
	var told []Lesson
	for _, l := range []struct {
		Lesson
		holds bool
	}{
		{PassedBy, !found && f.BestPass >= LikelySeen},
		{Overlooked, !found && f.BestWatch >= LikelySeen},
		{NeverNear, !found && known && f.ChanceOfSighting < HardlySeen},
		{Strays, f.Strays > 0},
		{MapOff, f.RankScore < 0},
		{Thin, f.Tracks > 0 && thin},
		{Overlapped, f.Tracks > 0 && overlapped},
		{LogOff, f.LogErrorShare > PoorLog},
		{Untimed, f.Untimed > 0},
		{Lucky, found && known && f.ChanceOfSighting < UnlikelySeen},
		{MapGood, f.RankScore >= GoodRank},
		{Covered, f.Tracks > 0 && !thin && !overlapped},
		{LogGood, f.LogErrorShare <= PoorLog},
		{MapMiddling, f.RankScore >= 0 && f.RankScore < GoodRank},
		{NoTracks, f.Tracks == 0},
		{NoAreas, math.IsNaN(f.RankScore)},
		{NoLogs, math.IsNaN(f.LogErrorShare)},
	} {
		if l.holds && len(told) < LessonsTold {
			told = append(told, l.Lesson)
		}
	}
	return told
}
