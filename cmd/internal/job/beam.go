package job

import (
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/los"
	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// A lampBeam is a beam in the air of a plan, for distances to its sides.
type lampBeam struct {
	source.Beam
	extinction float64
	known      float64 // share of the greatest light that the distances known are for
}

// newLampBeam returns the beam for distances that are known to an eye that it is turned
// to, at an elevation from the lamp [deg].
func newLampBeam(b source.Beam, extinction, elevationDeg float64) lampBeam {
	return lampBeam{b, extinction, b.Share(earth.True(math.NaN()), elevationDeg)}
}

// dimmedM returns the distance of a light of which a share of the greatest is left,
// for one that reaches distM where it is known: both give the eye the same light.
func (b lampBeam) dimmedM(distM, share float64) float64 {
	if share == b.known || !(distM > 0) {
		return distM
	}
	return sighting.LuminousM(share, sighting.IlluminanceLx(b.known, distM, b.extinction), b.extinction)
}

// A beamOver is a beam that does not shine alike to all sides, over the ground of a
// plan. A nil one shines all round.
type beamOver struct {
	lampBeam
	run   *run
	lamp  los.Station
	lampM float64 // height of the lamp above the sea
	eyeM  float64 // height of the eyes above their ground
}

// beamOver returns the beam of a signal at a place; nil for one that shines all
// round. Distances are known along its axis: see SightRequest.ask.
func (r *run) beamOver(s plan.Signal, lamp los.Station, eyeM float64) *beamOver {
	beam := beamOf(s)
	if !beam.Narrow() {
		return nil
	}
	a := air.Air{VisibilityM: r.plan.Weather.VisibilityM}
	return &beamOver{newLampBeam(beam, a.Extinction(), beam.TiltDeg), r, lamp, r.heights.SampleCell(lamp.Col, lamp.Row) + lamp.HeightM, eyeM}
}

// reachM returns how far the light reaches toward a cell of the terrain, eastM and
// northM from it, when it reaches distM along its axis.
func (b *beamOver) reachM(distM float64, col, row, eastM, northM float64) float64 {
	if b == nil {
		return distM
	}
	return b.dimmedM(distM, b.toward(col, row, eastM, northM))
}

// toward returns the share of the greatest light that leaves toward a cell of the terrain,
// eastM and northM from the lamp.
func (b *beamOver) toward(col, row, eastM, northM float64) float64 {
	up := b.run.heights.SampleCell(col, row) + b.eyeM - b.lampM
	azimuth := earth.NewTrue(math.Atan2(eastM, northM) * 180 / math.Pi)
	return b.Share(azimuth, math.Atan2(up, math.Hypot(eastM, northM))*180/math.Pi)
}

// levelM returns the distance along the axis of the lamp at which it gives as much light
// as distM off toward a cell of the terrain, eastM and northM from it; +Inf where it
// does not shine.
func (b *beamOver) levelM(distM, col, row, eastM, northM float64) float64 {
	share := b.toward(col, row, eastM, northM)
	switch {
	case share == b.known:
		return distM
	case share <= 0:
		return math.Inf(1)
	}
	return sighting.LuminousM(b.known, sighting.IlluminanceLx(share, distM, b.extinction), b.extinction)
}

// only takes the cells out of an area that the beam does not reach.
func (b *beamOver) only(a *los.Area, distM float64) {
	if b == nil {
		return
	}
	a.AreaM2, a.Seen = 0, 0
	for row := range a.Frame.Rows {
		east, north := b.run.heights.MetresAt(b.lamp.Col, (b.lamp.Row+float64(row+a.Row0))/2)
		for col := range a.Frame.Cols {
			state := &a.State[row*a.Frame.Cols+col]
			c, w := float64(col+a.Col0), float64(row+a.Row0)
			dx, dy := (c-b.lamp.Col)*east, (b.lamp.Row-w)*north
			if *state == los.Seen && math.Hypot(dx, dy) > b.reachM(distM, c, w, dx, dy) {
				*state = los.Hidden
			}
			if *state == los.Seen {
				a.Seen++
				a.AreaM2 += a.Frame.AreaM2(row)
			}
		}
	}
}

// A SightReach is how far a lamp is noticed on one bearing.
type SightReach struct {
	AzimuthDeg cli.Deg `json:"azimuth_deg"`
	NoticedM   cli.Len `json:"noticed_m"`
}

// beamStepDeg is from bearing to bearing.
const beamStepDeg = 5

// reach lists how far an aimed lamp is noticed on the bearings of the level, when it
// reaches luminousM by light, air and eye and atMostM by all.
func (b lampBeam) reach(luminousM, atMostM float64) []SightReach {
	var list []SightReach
	for deg := 0.0; deg < 360; deg += beamStepDeg {
		list = append(list, SightReach{cli.Deg(deg), cli.Len(min(b.dimmedM(luminousM, b.Share(earth.True(deg), 0)), atMostM))})
	}
	return list
}
