package depth

import (
	"context"
	"math"
	"slices"
)

// Influence is what a small change does to the width of the cuts held one way.
type Influence struct {
	Of     string  // "extension", "hand", "cutter angle", "stock"
	Change float64 // in Unit
	Unit   string  // "µm", "N", "°"
	By     Way
	Width  float64 // mean change of the width, mm; a change the other way turns its sign
	Most   float64 // greatest change anywhere, mm
	Share  float64 // Width as a share of the mean width
}

// Sensitivity returns what a micron of extension, a newton of the hand, a tenth
// of a degree of the cutter and ten microns of stock do to the width of the plan's
// cuts, way by way: the plan is predicted again with each, and the differences are
// taken.
//
// The stop is set in its groove after the extension, and goes with it; hand and
// stock change after it has been set. Stock that stands higher than was read lifts
// the guide with it, which is why a guide is used.
func (p *Plan) Sensitivity(ctx context.Context) ([]Influence, error) {
	t := p.Prediction.task
	defer t.ground.release()
	held := func(change func(h *Hold)) []Hold {
		out := slices.Clone(p.Holds)
		for i := range out {
			if out[i].By == ByStop {
				out[i].kept = true
			}
			change(&out[i])
		}
		return out
	}
	const micron, newton, degree = 0.001, 1.0, math.Pi / 180
	var out []Influence
	for _, v := range []struct {
		of     string
		change float64
		unit   string
		holds  []Hold
		task   func(t *task, w *Work)
	}{
		{"extension", 1, "µm", p.Holds, func(t *task, _ *Work) { t.extension += micron }},
		{"hand", 1, "N", held(func(h *Hold) {
			if h.By == ByStop {
				h.Height -= t.work.Stop.Compliance * newton
			}
		}), func(t *task, w *Work) {
			if w.Guide != nil {
				t.flex += w.Guide.Compliance * newton
			}
		}},
		{"cutter angle", 0.1, "°", held(func(*Hold) {}), func(t *task, w *Work) {
			w.Cutter.Included += 0.1 * degree
			t.tan = w.Cutter.Sensitivity()
		}},
		{"stock", 10, "µm", held(func(h *Hold) {
			if h.By != ByGuide {
				h.Height -= 10 * micron
			}
		}), func(*task, *Work) {}},
	} {
		w, u := *t.work, *t
		u.work = &w
		v.task(&u, &w)
		// The surface is cut by the plan's own cutter; a tenth of a degree
		// changes crests by less than it changes widths.
		q, err := u.predict(ctx, v.holds, nil)
		if err != nil {
			return nil, err
		}
		out = append(out, p.Prediction.against(q, v.of, v.change, v.unit)...)
	}
	return out, nil
}

// against returns the differences of q from p, for each way in the order of the
// ways.
func (p *Prediction) against(q *Prediction, of string, change float64, unit string) []Influence {
	var out []Influence
	for by := ByGuide; by <= Fixed; by++ {
		mean, all, width, n := 0.0, 0.0, 0.0, 0
		for i := range p.Cuts {
			if p.Cuts[i].By != by {
				continue
			}
			for k := p.start[i]; k < p.start[i+1]; k++ {
				a := p.task.width(float64(p.stock[k]) - float64(p.tip[k]))
				b := q.task.width(float64(q.stock[k]) - float64(q.tip[k]))
				if d := b - a; math.Abs(d) > math.Abs(all) {
					all = d
				}
				mean += b - a
				width += a
				n++
			}
		}
		if n == 0 {
			continue
		}
		f := Influence{Of: of, Change: change, Unit: unit, By: by, Width: mean / float64(n), Most: all}
		if width > 0 {
			f.Share = mean / width
		}
		out = append(out, f)
	}
	return out
}
