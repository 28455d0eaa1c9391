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
}

// Metals returns the metals that the program knows. The cutting constants are
// those of the material groups of VDI 3323 as printed in a toolmaker's turning
// catalogue of 2017, p. 558 (docs.steelcam.org; the rows for copper and
// aluminium stand alike in the boring catalogue of 2022, p. 111). No published
// figure was found for silver, gold and nickel silver: they are unknown.
func Metals() []Metal {
	return []Metal{
		{Name: "silver", Colour: "silver"},
		{Name: "fine gold", Colour: "gold"},
		{Name: "brass", Colour: "brass", Cutting: 700, Exponent: 0.27},         // group 27
		{Name: "leaded brass", Colour: "brass", Cutting: 700, Exponent: 0.27},  // group 26, over 1 % lead
		{Name: "copper", Colour: "copper", Cutting: 700, Exponent: 0.27},       // group 28, electrolytic
		{Name: "nickel silver", Colour: "nickel silver"},                       //
		{Name: "aluminium", Colour: "aluminium", Cutting: 700, Exponent: 0.25}, // group 21, wrought, not curable
		{Name: "steel", Colour: "steel", Cutting: 1350, Exponent: 0.21},        // group 1, below 0.25 % carbon, annealed
	}
}

// Check returns what is wrong with the metal's constants: fields
// "cutting_force" and "exponent".
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
	return l
}
