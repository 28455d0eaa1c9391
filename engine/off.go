package engine

import (
	"fmt"
	"strings"

	"brightcut/fault"
)

// faults says which cuts cannot be made where they stand: one fault for each
// item that cuts and each reason, however many its cuts.
func (w *work) faults() fault.List {
	if w.over {
		return fault.List{{Field: "sequence",
			Problem: fmt.Sprintf("the paths need more than %d vertices", MaxVertices),
			Mend:    "repeat fewer times, or divide the work into several jobs"}}
	}
	type key struct {
		node *node
		why  fate
	}
	at := map[key]int{}
	var keys []key
	var cuts [][]int
	for i, f := range w.short {
		for _, why := range []fate{offField, barEnds, strokeEnd, noRadius, through} {
			if f&why == 0 {
				continue
			}
			k := key{w.run.nodes[i], why}
			j, ok := at[k]
			if !ok {
				j = len(keys)
				at[k] = j
				keys, cuts = append(keys, k), append(cuts, nil)
			}
			cuts[j] = append(cuts[j], i+1)
		}
	}
	var l fault.List
	for j, k := range keys {
		f := fault.Fault{Origin: k.node.item.Origin, Field: k.node.field}
		f.Problem, f.Mend = w.why(k.why, cuts[j])
		l = append(l, f)
	}
	return l
}

// why says what is wrong with the cuts of the given numbers.
func (w *work) why(f fate, numbers []int) (problem, mend string) {
	which, first := cutRanges(numbers), &w.run.cuts[numbers[0]-1]
	are := "are"
	if len(numbers) == 1 {
		are = "is"
	}
	s := w.setup
	switch f {
	case offField:
		box := s.Blank.Field().Bounds()
		return fmt.Sprintf("%s %s wholly off the field", which, are),
			fmt.Sprintf("start elsewhere, step less or repeat fewer times; cut %d stands at %s, turned %s, and the field reaches from %.4g to %.4g mm across and from %.4g to %.4g mm along",
				first.Number, millimetres(first.Position), degrees(first.Turned), box.Min.X, box.Max.X, box.Min.Y, box.Max.Y)
	case barEnds:
		m := w.motions[first.Settings.Bar]
		return fmt.Sprintf("the bar %q ends in the middle of %s: shifted by %s it serves readings from %.4g to %.4g mm",
				first.Settings.Bar, which, millimetres(first.Phase), m.low-first.Phase, m.high-first.Phase),
			"give limits within those readings, shift the bar less or use a longer bar"
	case strokeEnd:
		return fmt.Sprintf("the stroke ends in the middle of %s: it runs from %.4g to %.4g mm", which, s.Engine.StrokeMin, s.Engine.StrokeMax),
			"give limits within the stroke where the cuts are to end, or a smaller field"
	case through:
		m := w.motions[first.Settings.Bar]
		return fmt.Sprintf("%s %s pumped through the blank: %s deep and %s deeper, in metal of %s",
				which, are, millimetres(first.Depth), millimetres(-m.lowest), millimetres(s.Blank.Thickness)),
			"cut less deep, or take a pumping rosette of less amplitude"
	}
	m := w.motions[first.Settings.Bar]
	return fmt.Sprintf("%s %s a ring without a radius: the slide stands at %s and the rosette takes away up to %s",
			which, are, millimetres(first.Position), millimetres(max(0, -m.foot))),
		"keep the slide farther from the centre"
}

// cutRanges names cuts: "cut 3", "cuts 98–120", "cuts 1–4, 9 and 12–14".
func cutRanges(n []int) string {
	const most = 4
	var parts []string
	for i := 0; i < len(n); {
		j := i
		for j+1 < len(n) && n[j+1] == n[j]+1 {
			j++
		}
		if i == j {
			parts = append(parts, fmt.Sprint(n[i]))
		} else {
			parts = append(parts, fmt.Sprintf("%d–%d", n[i], n[j]))
		}
		i = j + 1
	}
	if len(n) == 1 {
		return "cut " + parts[0]
	}
	if len(parts) > most {
		return fmt.Sprintf("cuts %s and others (%d in all)", strings.Join(parts[:most], ", "), len(n))
	}
	if last := len(parts) - 1; last > 0 {
		return "cuts " + strings.Join(parts[:last], ", ") + " and " + parts[last]
	}
	return "cuts " + parts[0]
}
