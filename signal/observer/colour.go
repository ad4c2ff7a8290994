package observer

import "math"

const (
	// laboratoryRatio is the scotopic over photopic ratio of the lamps of 2850 K
	// that the laboratory's thresholds were measured with (Crumey 2014, section
	// 1.3).
	laboratoryRatio = 1.408
	// MES2, the CIE's system of seeing in twilight, is that of the dark up to
	// 0.005 cd/m2 and that of the day from 5 cd/m2 on, with
	// m = 0.767 + 0.3334 log10 L in between (CIE 191:2010, read second-hand).
	mesopicAt, mesopicSlope = 0.767, 0.3334
)

// ColourFactor returns the factor on the threshold of a point of light for its
// ratio of scotopic to photopic output (S/P), before a background [cd/m2]. A law
// for white light has the threshold whiteLx there [lx].
//
// In the dark the rods' threshold goes as 1.408 over the ratio (Crumey 2014,
// equation 6), until cones see the light first: no light needs more than
// [HechtConePointLx]. A red light of 620 nm then needs 6.5 times the candela of a
// white one before 0.001 cd/m2, a blue one a thirteenth. By day colours do not
// differ. In twilight the factor of the dark is taken to the power 1 - m of
// MES2, own choice. A ratio of 0 is not stated and gives 1.
//
// It is for the laboratory's laws and eyes used to the dark. The 2e-7 lx of
// nautical practice holds for all colours. To name a colour takes more light
// than to see it.
func ColourFactor(backgroundCDM2, scotopicRatio, whiteLx float64) float64 {
	if scotopicRatio == 0 {
		return 1
	}
	b := max(backgroundCDM2, CrumeyFloorCDM2)
	dark := min(laboratoryRatio/scotopicRatio, max(1, HechtConePointLx(b)/whiteLx))
	m := min(max(mesopicAt+mesopicSlope*math.Log10(b), 0), 1)
	return math.Pow(dark, 1-m)
}

// ColourFactor returns the factor on this observer's threshold for the colour of
// the light that is looked for, 1 where it is not stated or does not count: with
// a fixed threshold or a practical law, and for eyes that see with cones alone.
func (o Observer) ColourFactor(backgroundCDM2 float64) float64 {
	i := o.Law.info()
	if o.FixedLx > 0 || i.practice || o.Unadapted {
		return 1
	}
	b := o.SeenCDM2(backgroundCDM2)
	return ColourFactor(b, o.ScotopicRatio, i.pointLx(b))
}
