package sheet

import (
	"math"

	"brightcut/engine"
)

// spanned are the pieces' readings as the sheet writes them, of every cut.
type spanned struct {
	of   [][]piece
	keys []string
}

type piece struct {
	start, stop float64
	ring        bool
}

func (k *speaker) allSpans(l *engine.List) spanned {
	s := spanned{of: make([][]piece, len(l.Cuts)), keys: make([]string, len(l.Cuts))}
	for i := range l.Cuts {
		key := ""
		for _, p := range l.Cuts[i].Pieces {
			if !finite(p.Start, p.Stop) {
				continue
			}
			s.of[i] = append(s.of[i], piece{p.Start, p.Stop, p.Closed})
			key += "|" + k.span(p.Start) + ">" + k.span(p.Stop)
			if p.Closed {
				key += "o"
			}
		}
		s.keys[i] = key
	}
	return s
}

// span writes a reading of the stroke, mm, or of the spindle, rad.
func (k *speaker) span(v float64) string {
	if k.rose() {
		return fixed(v*180/math.Pi, 2) + "°"
	}
	return k.reading(v)
}

// spanRange gathers the least and greatest start and stop over the cuts of a row.
type spanRange struct {
	started  bool
	differ   bool // in the number of pieces
	least    []piece
	greatest []piece
}

func (r *spanRange) add(pieces []piece) {
	if !r.started {
		r.started = true
		r.least = append(r.least, pieces...)
		r.greatest = append(r.greatest, pieces...)
		return
	}
	if len(pieces) != len(r.least) {
		r.differ = true
	}
	for i, p := range pieces {
		if i == len(r.least) {
			r.least, r.greatest = append(r.least, p), append(r.greatest, p)
			continue
		}
		lo, hi := &r.least[i], &r.greatest[i]
		lo.start, hi.start = math.Min(lo.start, p.start), math.Max(hi.start, p.start)
		lo.stop, hi.stop = math.Min(lo.stop, p.stop), math.Max(hi.stop, p.stop)
		lo.ring = lo.ring && p.ring
	}
}

// spans writes the range. Where cuts of the row have different numbers of
// pieces only the whole reach is told: no piece of one belongs to a piece of
// the other.
func (r *spanRange) spans(k *speaker) []Span {
	if len(r.least) == 0 {
		return nil
	}
	lo, hi := r.least, r.greatest
	if r.differ {
		whole := piece{start: lo[0].start, stop: hi[0].stop}
		for i := range lo {
			whole.start, whole.stop = math.Min(whole.start, lo[i].start), math.Max(whole.stop, hi[i].stop)
		}
		return []Span{{Start: k.span(whole.start), Stop: k.span(whole.stop), Varies: true, Reach: true}}
	}
	out := make([]Span, len(lo))
	for i := range lo {
		if lo[i].ring {
			out[i] = Span{Start: k.span(lo[i].start), Stop: k.span(lo[i].stop), Ring: true}
			continue
		}
		start, a := between(k.span(lo[i].start), k.span(hi[i].start))
		stop, b := between(k.span(lo[i].stop), k.span(hi[i].stop))
		out[i] = Span{Start: start, Stop: stop, Varies: a || b}
	}
	return out
}

func between(least, greatest string) (text string, varies bool) {
	if least == greatest {
		return least, false
	}
	return least + " to " + greatest, true
}

// Reading is where a run of cuts starts and stops, all of them alike.
type Reading struct {
	First, Last int      // numbers of the cuts
	Dials       []string // counts at the first of them, as many as Sheet.Dials
	Spans       []Span
}

// readings tells every cut's start and stop.
func (k *speaker) readings(l *engine.List, spans spanned) (out []Reading, leftOut int) {
	axes := dials(l)
	for i := range l.Cuts {
		c := &l.Cuts[i]
		if i > 0 && spans.keys[i] == spans.keys[i-1] {
			out[len(out)-1].Last = c.Number
			continue
		}
		if len(out) == mostReadings {
			return out, len(l.Cuts) - i
		}
		r := Reading{First: c.Number, Last: c.Number}
		for _, a := range axes {
			text, _ := k.show(a, counts(c.Settings, a))
			r.Dials = append(r.Dials, text)
		}
		for _, p := range spans.of[i] {
			r.Spans = append(r.Spans, Span{Start: k.span(p.start), Stop: k.span(p.stop), Ring: p.ring})
		}
		out = append(out, r)
	}
	return out, 0
}

func varies(blocks []Block) bool {
	for _, b := range blocks {
		for _, r := range b.Rows {
			for _, s := range r.Spans {
				if s.Varies {
					return true
				}
			}
		}
	}
	return false
}
