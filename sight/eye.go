package sight

import "math"

// What eyes can do.
const (
	// ReadingDistance is that of an unaided eye close to its work, mm: the convention
	// of the magnification of microscopes and loupes.
	ReadingDistance = 250.0
	// LoupeMagnification is that of the engine turner's usual loupe.
	LoupeMagnification = 10.0

	acuity  = math.Pi / 180 / 60   // one minute of arc, what the eye resolves (round figure, from memory)
	vernier = math.Pi / 180 / 3600 // a second of arc; a line out of a row shows from
	rowed   = 10                   // so many of them on in a grating, as papers on vernier acuity have it

	// Contrast that is just seen where the eye is most sensitive, about 5 cycles to
	// the degree; nothing is seen beyond about 60 (Campbell and Robson 1968, as cited
	// by NCBI NBK219049).
	threshold = 0.016
	bestPitch = 5.0
	lastPitch = 60.0

	// A fault in a pattern is harder to see than on plain ground: contrast by contrast
	// the threshold rises as the 0.62th power of what is there already (Legge and
	// Foley 1980, Journal of the Optical Society of America 70:1458; the exponent from
	// memory).
	masking = 0.62
)

// spot is what an eye at a distance takes for one point, mm.
func spot(distance float64) float64 { return distance * math.Tan(acuity) }

// sensitivity is the share of its best that the eye has left for a pattern of lines
// some mm apart: a straight fall of the logarithm between the two published ends.
func sensitivity(pitch, distance float64) float64 {
	cycles := distance * math.Pi / 180 / pitch // to the degree
	switch {
	case cycles <= bestPitch:
		return 1
	case cycles >= lastPitch:
		return threshold
	}
	return math.Pow(threshold, (cycles-bestPitch)/(lastPitch-bestPitch))
}

// least is the contrast that is just seen in a pattern of lines some mm apart whose own
// contrast is given.
func least(contrast, pitch, distance float64) float64 {
	own := contrast * sensitivity(pitch, distance)
	return threshold * math.Max(1, math.Pow(own/threshold, masking))
}
