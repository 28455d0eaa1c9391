package cutter

import (
	"fmt"

	"brightcut/fault"
)

// Metal is what the cutter meets.
type Metal struct {
	Name     string
	Colour   string  // which of package light's metals it looks like
	Cutting  float64 // specific cutting force kc1.1 at a chip 1 mm thick, N/mm²; 0 is unknown
	Exponent float64 // mc of the Kienzle law
	Density  float64 // g/cm³; 0 is unknown
}

// Metals returns the metals that the program knows. The cutting constants are
// those of the material groups of VDI 3323 as printed in a toolmaker's turning
// catalogue of 2017, p. 558 (docs.steelcam.org; the rows for copper and
// aluminium stand alike in the boring catalogue of 2022, p. 111). No published
// figure was found for silver, gold and nickel silver: they are unknown.
//
// Densities are those of the elements and of the usual alloys, from memory of the
// tables of any handbook of chemistry and physics; an alloy's varies by a few in a
// hundred with its making. Silver is the pure metal.
func Metals() []Metal {
	return []Metal{
		{Name: "silver", Colour: "silver", Density: 10.49},
		{Name: "fine gold", Colour: "gold", Density: 19.30},
		{Name: "brass", Colour: "brass", Cutting: 700, Exponent: 0.27, Density: 8.50},         // group 27
		{Name: "leaded brass", Colour: "brass", Cutting: 700, Exponent: 0.27, Density: 8.47},  // group 26, over 1 % lead
		{Name: "copper", Colour: "copper", Cutting: 700, Exponent: 0.27, Density: 8.96},       // group 28, electrolytic
		{Name: "nickel silver", Colour: "nickel silver", Density: 8.70},                       //
		{Name: "aluminium", Colour: "aluminium", Cutting: 700, Exponent: 0.25, Density: 2.70}, // group 21, wrought, not curable
		{Name: "steel", Colour: "steel", Cutting: 1350, Exponent: 0.21, Density: 7.85},        // group 1, below 0.25 % carbon, annealed
	}
}

// Check returns what is wrong with the metal's constants: fields
// "cutting_force", "exponent" and "density".
func (m Metal) Check() fault.List {
	var l fault.List
	if !(m.Cutting >= 0 && m.Cutting <= 20_000) {
		l = append(l, fault.Fault{Field: "cutting_force",
			Problem: fmt.Sprintf("%s N/mm2 is no specific cutting force of a metal", short(m.Cutting)),
			Mend:    "give kc1.1 from a table, such as 700 for brass; leave it out when it is unknown"})
	}
	if !(m.Exponent >= 0 && m.Exponent < 1) {
		l = append(l, fault.Fault{Field: "exponent",
			Problem: fmt.Sprintf("%s is no exponent of the cutting force law", short(m.Exponent)),
			Mend:    "give mc from the same table as the cutting force, from 0 up to 1, such as 0.27 for brass"})
	}
	if !(m.Density >= 0 && m.Density <= 25) {
		l = append(l, fault.Fault{Field: "density",
			Problem: fmt.Sprintf("%s g/cm3 is no density of a metal", short(m.Density)),
			Mend:    "give it in grams to the cubic centimetre, such as 10.36 for sterling silver; leave it out when it is unknown"})
	}
	return l
}
