// Package drill sets drills and scores them: it hides people and signals where the
// ground allows it, and tells afterwards who came near and who should have noticed.
//
// [Allow] finds the ground on which somebody may be hidden; [NewHiding] and
// [Hiding.Draw] draw places on it in proportion to a surface of probability, by a
// seed. After the drill [Passes] tells from the tracks who passed within sight and
// when, [Found] from the reports who found it, and [Judge] puts the figures
// together, from which [Figures.Lessons] chooses three lessons. [FoundByHour] sums
// up how a plan would fare over many draws.
//
// The limits of the ground are own choice and err on the safe side; they are no
// proof that a place is safe: somebody has to have seen it. Chances of detection
// are handed in (see signal/sweep), sight lines too; nothing here knows light or
// eyes. How well a group's map did is the rank score of Sava, Twardy, Koester and
// Sonwalkar 2016 (geo/prob).
//
// Missing: texts for people, which the caller writes; logs against tracks, which
// geo/reckon compares.
package drill
