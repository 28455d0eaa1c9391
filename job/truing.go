package job

import (
	"brightcut/blank"
	"brightcut/engine"
)

// The chuck by which an engine's work is trued, and the swing of its slide assembly.

var truingScrewRecord = &record[blank.Screw]{
	name: "a screw of the truing chuck", flow: true,
	fields: []field[blank.Screw]{
		at("name", "What the workshop calls the screw; left out, it has its number.", text(mostName), func(s *blank.Screw) *string { return &s.Name }),
		at("angle", "Where it stands round the chuck, from the work's x.", angleOf(anyValue), func(s *blank.Screw) *float64 { return &s.Angle }),
		must("radius", "How far it stands from the middle of the chuck.", lengthOf(overZero), func(s *blank.Screw) *float64 { return &s.Radius }),
		must("pitch", "Travel for one turn: a length, or threads to the inch as 40 tpi.", lengthOf(overZero), func(s *blank.Screw) *float64 { return &s.Pitch }),
		at("lowers", "Whether it lowers the work when turned clockwise; left out, it raises it.", yesNo, func(s *blank.Screw) *bool { return &s.Lowers }),
	},
}

var truingAxisRecord = &record[blank.Axis]{
	name: "an axis of the truing chuck", flow: true,
	fields: []field[blank.Axis]{
		at("name", "What the workshop calls the axis; left out, it has its number.", text(mostName), func(a *blank.Axis) *string { return &a.Name }),
		at("along", "Direction of the hinge, from the work's x.", angleOf(anyValue), func(a *blank.Axis) *float64 { return &a.Along }),
		must("arm", "From the hinge to the screw that tilts it, on the left of its direction.", lengthOf(overZero), func(a *blank.Axis) *float64 { return &a.Arm }),
		must("pitch", "Travel of the screw for one turn.", lengthOf(overZero), func(a *blank.Axis) *float64 { return &a.Pitch }),
		at("lowers", "Whether the screw lowers its end of the arm when turned clockwise.", yesNo, func(a *blank.Axis) *bool { return &a.Lowers }),
	},
}

var truingRecord = &record[blank.TruingChuck]{
	name: "a truing chuck",
	fields: []field[blank.TruingChuck]{
		must("division", "Into how many parts of a turn the hand can set a screw.", count(1, 1000), func(c *blank.TruingChuck) *int { return &c.Division }),
		at("screws", "Three screws, or four in two pairs across the middle.", listOf(truingScrewRecord.codec(), 0, 8, false), func(c *blank.TruingChuck) *[]blank.Screw { return &c.Screws }),
		at("axes", "Two crossed axes, in place of screws.", listOf(truingAxisRecord.codec(), 0, 8, false), func(c *blank.TruingChuck) *[]blank.Axis { return &c.Axes }),
	},
}

var truingField = at("truing", "Chuck that tilts the work until it runs true.", refer(truingRecord.codec()), func(e *engine.Engine) **blank.TruingChuck { return &e.Truing })

var swingRecord = &record[engine.Swing]{
	name: "a swing", flow: true,
	fields: []field[engine.Swing]{
		must("axis", "Height of the axis above the highest place of the work; below 0 it lies inside the work.", lengthOf(anyValue), func(s *engine.Swing) *float64 { return &s.Axis }),
		must("from", "Least swing; above 0 the cutter stands square to work that falls towards +x.", angleOf(anyValue), func(s *engine.Swing) *float64 { return &s.Min }),
		must("to", "Greatest swing.", angleOf(anyValue), func(s *engine.Swing) *float64 { return &s.Max }),
	},
}

var swingField = at("swing", "Swing of the cutter's slide assembly, for curved work; left out, it stands fast.", refer(swingRecord.codec()), func(e *engine.Engine) **engine.Swing { return &e.Swing })
