package depth

import (
	"fmt"
	"math"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/fault"
)

// Work is all that the depth of a job's cuts depends on.
type Work struct {
	List     *engine.List // cuts in the job's order; their tips' heights count for stop and fixed height only
	Cutter   cutter.Cutter
	Blank    *blank.Blank
	Stock    *Stock // nil is true to a flat form
	Guide    *Guide // nil when there is none
	Stop     *Stop  // nil when there is none
	Pressure Pressure
	Wear     float64 // how much the tip recedes for each mm that it has cut since it was touched up, mm; it is fresh at the first cut
	Depth    float64 // wished depth that the guide's extension is set for, mm; 0 is the first cut's

	Cell  float64 // of the ground under the guide, mm; 0 is DefaultCell, or coarser on work too large for it
	Pitch float64 // between the places along a cut, mm; 0 is twice the cell
}

// DefaultCell is the side of a cell of the ground under the guide, mm. On a
// groove's edge half a cell is worth R_f-dependent tenths of a micron: see
// TestFinerCells.
const DefaultCell = 0.010

// What a Work may ask for.
const (
	mostCells  = 1 << 27 // of the ground: 512 MiB
	mostPlaces = 1 << 24 // along all cuts: 270 MiB
	finestCell = 1e-4    // mm
	mostWear   = 1e-3    // mm for each mm cut
)

// Check returns what keeps the depth from being predicted, the blank and the
// cutter being sound. Fields as in a job file: "guide.offset", "stop.compliance",
// "hand.force", "cell", "pitch", "sequence".
func (w *Work) Check() fault.List {
	var l fault.List
	under := func(field string, faults fault.List) {
		for _, f := range faults {
			if f.Field != "" {
				f.Field = "." + f.Field
			}
			f.Field = field + f.Field
			l = append(l, f)
		}
	}
	if w.Guide != nil {
		under("guide", w.Guide.Check())
		if w.Guide.Extension == 0 {
			under("guide", fault.List{{Field: "extension", Problem: "it is left open", Mend: "set it for the depth of the cuts"}})
		}
	}
	if w.Stop != nil {
		under("stop", w.Stop.Check())
	}
	under("hand", w.Pressure.Check())
	for _, s := range []struct {
		field string
		size  float64
	}{{"cell", w.Cell}, {"pitch", w.Pitch}} {
		if s.size != 0 && !(s.size >= finestCell && s.size <= 10) {
			l = append(l, fault.Fault{Field: s.field, Problem: fmt.Sprintf("%s mm cannot be used", short(s.size)), Mend: "give 0.0001 to 10 mm, or leave it out"})
		}
	}
	if !(w.Depth >= 0) || math.IsInf(w.Depth, 0) {
		l = append(l, fault.Fault{Field: "depth", Problem: fmt.Sprintf("%s mm is no depth of cut", short(w.Depth)), Mend: "give a depth above 0"})
	}
	if !(w.Wear >= 0 && w.Wear <= mostWear) {
		l = append(l, fault.Fault{Field: "calibration.wear", Problem: fmt.Sprintf("a tip does not recede %s mm in the metre", short(1000*w.Wear)), Mend: "give 0 to 1 mm in the metre, or leave it out"})
	}
	if len(w.List.Cuts) == 0 {
		l = append(l, fault.Fault{Field: "sequence", Problem: "there is no cut to hold the depth of", Mend: "write a cut into the sequence"})
	}
	return l
}
