package job

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
)

var formWords = []string{"disc", "ring", "rectangle", "polygon"}

var forms = []blank.Form{blank.Disc, blank.Ring, blank.Rectangle, blank.Polygon}

func formOf(s *blank.Shape) string {
	if i := slices.Index(forms, s.Form); i >= 0 {
		return formWords[i]
	}
	return ""
}

var place2 = pairOf(lengthOf(anyValue), lengthOf(anyValue), func(p *r2.Vec) (*float64, *float64) { return &p.X, &p.Y })

// shapeFields are the keys of a closed figure on the work.
var shapeFields = []field[blank.Shape]{
	must("shape", "Disc, ring, rectangle or polygon.", choice(formWords, forms), func(s *blank.Shape) *blank.Form { return &s.Form }),
	at("centre", "Where its middle lies, [x, y] from the middle of the chuck.", place2, func(s *blank.Shape) *r2.Vec { return &s.Centre }),
	must("diameter", "Diameter outside.", lengthOf(overZero), func(s *blank.Shape) *float64 { return &s.Diameter }).of("disc", "ring"),
	must("inner", "Diameter of the hole of a ring.", lengthOf(overZero), func(s *blank.Shape) *float64 { return &s.Inner }).of("ring"),
	must("width", "Size across the stroke, before the turn by angle.", lengthOf(overZero), func(s *blank.Shape) *float64 { return &s.Width }).of("rectangle"),
	must("height", "Size along the stroke, before the turn by angle.", lengthOf(overZero), func(s *blank.Shape) *float64 { return &s.Height }).of("rectangle"),
	at("corner", "Radius of the corners; left out, they are sharp.", lengthOf(fromZero), func(s *blank.Shape) *float64 { return &s.Corner }).of("rectangle"),
	at("angle", "Turn counter-clockwise about its middle.", angleOf(anyValue), func(s *blank.Shape) *float64 { return &s.Angle }).of("rectangle"),
	must("points", "Corners in order, each [x, y] from its middle.", listOf(place2, 3, blank.MostPoints, true), func(s *blank.Shape) *[]r2.Vec { return &s.Points }).of("polygon"),
}

var outlineRecord = &record[blank.Shape]{
	name: "an outline", flow: true, selector: "shape",
	variant: func(_ *reader, s *blank.Shape) string { return formOf(s) },
	fields:  shapeFields,
}

// windowRecord is the table of a shape with a name and a border; a place kept
// clear takes no more, a window may be open.
func windowRecord(name string, more ...field[blank.Window]) *record[blank.Window] {
	return &record[blank.Window]{
		name: name, flow: true, selector: "shape",
		variant: func(_ *reader, w *blank.Window) string { return formOf(&w.Shape) },
		fields: slices.Concat(
			[]field[blank.Window]{at("name", "What it is.", text(mostName), func(w *blank.Window) *string { return &w.Name })},
			lift(shapeFields, func(w *blank.Window) *blank.Shape { return &w.Shape }),
			[]field[blank.Window]{at("border", "Uncut margin kept round it.", lengthOf(fromZero), func(w *blank.Window) *float64 { return &w.Border })},
			more),
	}
}

var openWindow = at("open", "Whether the metal itself is missing there, so that a guide finds no ground.", yesNo, func(w *blank.Window) *bool { return &w.Open })

var blankRecord = &record[Job]{
	name: "a blank",
	fields: []field[Job]{
		metalField,
		must("thickness", "Thickness of the metal.", lengthOf(overZero), func(j *Job) *float64 { return &j.Setup.Blank.Thickness }),
		must("outline", "Outline of the metal.", outlineRecord.codec(), func(j *Job) *blank.Shape { return &j.Setup.Blank.Outline }),
		at("border", "Uncut margin inside the outline.", lengthOf(fromZero), func(j *Job) *float64 { return &j.Setup.Blank.Border }),
		at("windows", "Parts of the work that stay uncut: subdials, apertures.",
			listOf(windowRecord("a window", openWindow).codec(), 0, blank.MostWindows, false), func(j *Job) *[]blank.Window { return &j.Setup.Blank.Windows }),
		at("keep_clear", "Ground that is not cut and that no foot may touch.",
			listOf(windowRecord("ground kept clear").codec(), 0, blank.MostWindows, false), func(j *Job) *[]blank.Window { return &j.Setup.Blank.KeepClear }),
	},
}
