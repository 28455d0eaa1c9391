package engine

import (
	"brightcut/bar"
	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/fault"
)

// Setup is all that a list of cuts depends on: the machine made ready, and the
// sequence to be worked on it.
type Setup struct {
	Engine   Engine
	Bars     map[string]bar.Edge // the bars or rosettes the job may use
	Bar      string              // the one on the engine at the start; "" is none
	Pump     string              // rosette that pumps the spindle endwise; "" is none
	Touch    float64             // radius of the touchpiece or rubber, mm
	Cutter   cutter.Cutter
	Blank    blank.Blank
	Depth    float64 // wished depth of cut below the nominal surface, mm
	Limits   *Limits // where on the stroke or spindle to cut; nil is all of it
	Circle   int     // circle of the index wheel; 0 lets the program choose
	Starts   []Start // settings before the first cut; an axis not named stands at 0
	Chord    float64 // greatest distance of a sampled path from the true one, mm; 0 is DefaultChord, less than 10⁻⁵ is 10⁻⁵
	Sequence []Item
}

// Start is the setting of an axis before the first cut.
type Start struct {
	Axis   Axis
	Amount Amount
	Origin fault.Origin
}

// DefaultChord is half a micron: a tenth of the finest line the eye places at
// reading distance (vernier acuity, about 5″, is 6 µm at 250 mm).
const DefaultChord = 0.0005
