package export

import (
	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/job"
)

// Piece is the cuts of a job with the metal they are made in.
type Piece struct {
	Name  string
	Cuts  []engine.Cut // in the order of cutting, with the depth wished for in the heights of their paths
	Blank *blank.Blank
	Rose  bool // readings are of the spindle, rad; else of the stroke, mm
	Chord float64

	holds []depth.Hold
	usual depth.Way
	stock *depth.Stock   // what readings left of the form; nil is nothing
	form  *blank.Surface // nil is flat
}

// NewPiece makes the piece of a job. With a plan, the cuts come in the plan's order
// and are held as it says; else in the job's, by the guide if there is one. The
// tip's heights are the wished ones either way: a machine that follows the probed
// surface has no use for those that the guide would give.
func NewPiece(j *job.Job, l *engine.List, plan *depth.Plan, stock *depth.Stock) *Piece {
	p := &Piece{Name: j.Title, Cuts: l.Cuts, Blank: &j.Setup.Blank, Rose: j.Setup.Engine.Kind == engine.Rose, Chord: j.Setup.Chord, usual: depth.Fixed, stock: stock}
	if p.Chord == 0 {
		p.Chord = engine.DefaultChord
	}
	if j.Guide != nil {
		p.usual = depth.ByGuide
	}
	if p.Blank.Nominal.Figure != blank.Flat {
		p.form = p.Blank.Nominal.Surface()
	}
	if plan != nil {
		written := make(map[int]*engine.Cut, len(l.Cuts))
		for i := range l.Cuts {
			written[l.Cuts[i].Number] = &l.Cuts[i]
		}
		p.Cuts = make([]engine.Cut, len(plan.Cuts))
		for i := range plan.Cuts {
			c := plan.Cuts[i]
			if w := written[plan.Written(c.Number)]; w != nil {
				c.Pieces = w.Pieces
			}
			p.Cuts[i] = c
		}
		p.holds = plan.Holds
	}
	return p
}

// Hold returns how the depth of a cut is held.
func (p *Piece) Hold(number int) depth.Way {
	for _, h := range p.holds {
		if h.First <= number && number <= h.Last {
			return h.By
		}
	}
	return p.usual
}

// The layers of a piece. The cuts' are named by how their depth is held.
const (
	MetalLayer  = "METAL"      // outline, and windows cut through
	WindowLayer = "LEFT-UNCUT" // windows
	ClearLayer  = "KEEP-CLEAR" // ground that no foot may touch
)

var cutLayers = map[depth.Way]string{
	depth.ByGuide: "CUTS-GUIDE",
	depth.ByStop:  "CUTS-STOP",
	depth.ByHand:  "CUTS-HAND",
	depth.Fixed:   "CUTS-FIXED",
}

// outlineChord is what the outline of the metal is drawn to, mm.
const outlineChord = 0.001

// Figure returns the paths of the tip seen from above, with the metal.
func (p *Piece) Figure() Figure {
	layers := []string{MetalLayer, WindowLayer, ClearLayer}
	for _, w := range []depth.Way{depth.ByGuide, depth.ByStop, depth.ByHand, depth.Fixed} {
		layers = append(layers, cutLayers[w])
	}
	return Figure{Name: p.Name, Layers: layers, Tolerance: max(p.Chord, outlineChord), Lines: func(yield func(Line) bool) {
		shape := func(layer string, s blank.Shape) bool {
			for _, loop := range shapeLoops(s) {
				loop.Layer = layer
				if !yield(loop) {
					return false
				}
			}
			return true
		}
		if !shape(MetalLayer, p.Blank.Outline) {
			return
		}
		for _, w := range p.Blank.Windows {
			layer := WindowLayer
			if w.Open {
				layer = MetalLayer
			}
			if !shape(layer, w.Shape) {
				return
			}
		}
		for _, w := range p.Blank.KeepClear {
			if !shape(ClearLayer, w.Shape) {
				return
			}
		}
		var path []Node
		for i := range p.Cuts {
			layer := cutLayers[p.Hold(p.Cuts[i].Number)]
			for k := range p.Cuts[i].Pieces {
				q := &p.Cuts[i].Pieces[k]
				path = path[:0]
				for _, v := range q.Path {
					path = append(path, Node{Vec: r2.Vec{X: v.X, Y: v.Y}})
				}
				if q.Closed && len(path) > 1 {
					path = path[:len(path)-1]
				}
				if len(path) > 1 && !yield(Line{layer, q.Closed, path}) {
					return
				}
			}
		}
	}}
}

// shapeLoops are the loops of a shape, circles as such.
func shapeLoops(s blank.Shape) (loops []Line) {
	switch s.Form {
	case blank.Disc:
		return []Line{circle("", s.Centre, s.Diameter/2)}
	case blank.Ring:
		return []Line{circle("", s.Centre, s.Diameter/2), circle("", s.Centre, s.Inner/2).reversed()}
	}
	for _, l := range s.Outline(outlineChord) {
		loops = append(loops, Line{Closed: true, Nodes: nodes(l)})
	}
	return loops
}
