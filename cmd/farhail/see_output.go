package main

import (
	"context"
	"io"
	"math"

	"github.com/paulmach/orb"

	"farhail/geo/layer"
	"farhail/geo/los"
	"farhail/geo/mapfile"
	"farhail/geo/terrain"
)

// write writes the seen area, or the heights needed, as the file's name says.
func (f *seeFlags) write(ctx context.Context, w io.Writer, r *seeResult, a *los.Area) error {
	switch {
	case f.watchers:
		return r.writeWatchers(w)
	case r.Chance != nil:
		return r.Chance.write(w)
	case f.witness:
		return terrain.WriteGeoTIFF(w, a.Frame, blocked(r.frame, r.eye, a), float32(math.NaN()),
			terrain.WriteOptions{Content: "metres from the eye to the ground that hides the cell", Unit: "m"})
	case f.needed:
		return terrain.WriteGeoTIFF(w, a.Frame, a.NeedM, float32(math.NaN()),
			terrain.WriteOptions{Content: "metres above ground that a target needs to be seen", Unit: "m"})
	case isTIFF(f.out):
		return terrain.WriteGeoTIFF(w, a.Frame, seenCells(a), seenNoData, terrain.WriteOptions{Content: "1 for seen and 0 for not seen"})
	}
	layers, err := seeLayers(ctx, r, a, f.land.simplify)
	if err != nil {
		return err
	}
	return mapfile.WriteGeoJSON(w, layers)
}

// seenNoData marks the cells of seen.tif that are unknown or beyond the radius.
const seenNoData = 255

func seenCells(a *los.Area) []uint8 {
	cells := make([]uint8, len(a.State))
	for i, s := range a.State {
		switch s {
		case los.Seen:
			cells[i] = 1
		case los.Hidden:
			cells[i] = 0
		default:
			cells[i] = seenNoData
		}
	}
	return cells
}

// seeLayers returns the seen and the unknown area and the eye to draw.
func seeLayers(ctx context.Context, r *seeResult, a *los.Area, simplifyM float64) ([]layer.Layer, error) {
	outline := func(of los.State) (orb.MultiPolygon, error) {
		v := make([]float32, len(a.State))
		for i, s := range a.State {
			if s != of {
				v[i] = float32(math.Inf(1))
			}
		}
		return areaOf(ctx, a.Frame, v, 0, simplifyM)
	}
	area, err := outline(los.Seen)
	if err != nil {
		return nil, err
	}
	seen := layer.New("seen", area, layer.P("area_m2", float64(r.AreaM2)),
		layer.P("eye_height_m", float64(r.Inputs.EyeHeightM)), layer.P("target_height_m", float64(r.Inputs.TargetHeightM)),
		layer.P("radius_m", float64(r.Inputs.RadiusM)), layer.P("refraction", float64(r.Inputs.Refraction)))
	features := []layer.Feature{seen}
	eyes := r.Eyes
	if len(eyes) == 0 {
		eyes = []seenEye{{Lat: r.From.Lat, Lon: r.From.Lon, GroundM: r.From.GroundM}}
	}
	for _, e := range eyes {
		eye := layer.New("eye", orb.Point{float64(e.Lon), float64(e.Lat)}, layer.P("eye_height_m", float64(r.Inputs.EyeHeightM)))
		eye.HeightM = float64(e.GroundM)
		features = append(features, eye)
	}
	if a.Unknown > 0 {
		unknown, err := outline(los.Unknown)
		if err != nil {
			return nil, err
		}
		features = append(features, layer.New("unknown", unknown))
	}
	title := "seen from the eye"
	if len(eyes) > 1 {
		title = "seen from at least one of the eyes"
	}
	return []layer.Layer{{ID: "seen", Title: title, Features: features}}, nil
}
