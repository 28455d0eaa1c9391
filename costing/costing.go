package costing

import (
	"fmt"
	"math"

	"brightcut/bench"
	"brightcut/engine"
	"brightcut/job"
)

// Range is an estimate with the range in which it lies four times in five.
type Range struct{ Value, Low, High float64 }

// exactly is a value that nobody doubts.
func exactly(v float64) Range { return Range{v, v, v} }

func (r Range) times(f float64) Range { return Range{r.Value * f, r.Low * f, r.High * f} }

func (r Range) plus(o Range) Range {
	v := r.Value + o.Value
	return Range{v, max(0, v-math.Hypot(r.Value-r.Low, o.Value-o.Low)), v + math.Hypot(r.High-r.Value, o.High-o.Value)}
}

// Basis says what the time of a stroke rests on.
type Basis int

// The bases, the best first.
const (
	ByRuns   Basis = iota + 1 // runs of the same engine
	ByEngine                  // the engine's file
	Unknown
)

// Quote is what a piece takes, and what it costs where the workshop has prices.
type Quote struct {
	Strokes  int
	Length   float64 // cut, mm
	Basis    Basis
	Runs     int     // that the time rests on
	Stroke   Range   // seconds
	Cutting  Range   // seconds
	TouchUps Range   // how many; a fresh cutter begins
	Life     Range   // length between touch-ups, mm; zero when it is not known
	Lived    int     // lengths between touch-ups that Life rests on; 0 is the workshop's own figure
	Weight   float64 // of the blank, grams; 0 when the metal's density is not known

	// With prices.
	Currency string // empty when there are none
	Hours    Range  // of work, preparation and touch-ups with it
	Work     Range
	Metal    float64
	Priced   bool // the metal has a price
	Total    Range
}

// usual is how far the pace of an engine's file may be off to either side, where
// no run tells. (A guess, no source.)
const usual = 0.3

// Of reckons a job: its list of cuts, what the runs of its engine taught, and the
// workshop's prices, nil when it has none.
func Of(j *job.Job, list *engine.List, learned bench.Learned, prices *job.Prices) Quote {
	q := Quote{Strokes: list.Strokes(), Length: list.LengthCut(), Basis: Unknown}
	strokes := float64(q.Strokes)
	switch {
	case learned.Runs > 0:
		q.Basis, q.Runs = ByRuns, learned.Runs
		q.Stroke = Range{learned.Stroke.Seconds, learned.Stroke.Low, learned.Stroke.High}
		q.Cutting = q.Stroke.times(strokes)
		if learned.Runs == 1 { // the range is that of one cut; of many it is narrower by the root
			s := math.Sqrt(max(1, strokes))
			v := q.Cutting.Value
			// A run to come differs from the one seen by more than its cuts tell: a tenth at least.
			q.Cutting.Low = min(v-(v-q.Cutting.Low)/s, 0.9*v)
			q.Cutting.High = max(v+(q.Cutting.High-v)/s, 1.1*v)
		}
	case list.SecondsPerStroke > 0:
		q.Basis = ByEngine
		v := list.SecondsPerStroke
		q.Stroke = Range{v, v * (1 - usual), v * (1 + usual)}
		q.Cutting = q.Stroke.times(strokes)
	}
	if l := learned.Life; l.Length > 0 {
		q.Life, q.Lived = Range{l.Length, l.Low, l.High}, learned.TouchUps
	} else if prices != nil && prices.Life > 0 {
		q.Life = exactly(1000 * prices.Life)
	}
	if q.Life.Value > 0 {
		q.TouchUps = Range{touchUps(q.Length, q.Life.Value), touchUps(q.Length, q.Life.High), touchUps(q.Length, q.Life.Low)}
	}
	b := &j.Setup.Blank
	q.Weight = b.Outline.Area() * b.Thickness / 1000 * j.Metal.Density
	if prices == nil || q.Basis == Unknown {
		return q
	}
	q.Currency = prices.Currency
	work := exactly(60 * prices.Preparation).plus(q.Cutting).plus(q.TouchUps.times(60 * prices.TouchUp))
	q.Hours = work.times(1.0 / 3600)
	q.Work = q.Hours.times(prices.Hour)
	q.Total = q.Work
	if gram, ok := prices.Gram[j.Metal.Name]; ok && q.Weight > 0 {
		q.Priced = true
		q.Metal = q.Weight * (1 + prices.Lost) * gram
		q.Total = q.Work.plus(exactly(q.Metal))
	}
	return q
}

// touchUps is how often a cutter that starts fresh is touched up in a length.
func touchUps(length, life float64) float64 {
	if !(life > 0) {
		return 0
	}
	return max(0, math.Ceil(length/life)-1)
}

// Sentences tell the quote.
func (q Quote) Sentences() []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	add("%s, %s m of cut.", many(q.Strokes, "stroke"), decimals(q.Length/1000, 1))
	switch q.Basis {
	case ByRuns:
		add("At %s s a stroke (%s to %s), learned from %s on this engine, the cutting takes %s (%s to %s).",
			seconds(q.Stroke.Value), seconds(q.Stroke.Low), seconds(q.Stroke.High), many(q.Runs, "run"), clock(q.Cutting.Value), clock(q.Cutting.Low), clock(q.Cutting.High))
	case ByEngine:
		add("At %s s a stroke, as the engine's file has it, the cutting takes %s; without a run that tells more, between %s and %s.",
			seconds(q.Stroke.Value), clock(q.Cutting.Value), clock(q.Cutting.Low), clock(q.Cutting.High))
	default:
		add("No run of this engine and no seconds_per_stroke in its file tell how long a stroke takes.")
	}
	switch {
	case q.Life.Value == 0:
		add("How long the cutter lasts is not known: tell the count when it is touched up, or write cutter_life into %s.", job.PricesFile)
	case q.Lived > 0:
		add("The cutter lasts %s m between touch-ups (%s to %s, from %s): %s.", decimals(q.Life.Value/1000, 1), decimals(q.Life.Low/1000, 1), decimals(q.Life.High/1000, 1), lengths(q.Lived), times(q.TouchUps))
	default:
		add("The cutter lasts %s m between touch-ups, as the workshop's prices have it: %s.", decimals(q.Life.Value/1000, 1), times(q.TouchUps))
	}
	if q.Weight > 0 {
		add("The blank weighs %s g.", decimals(q.Weight, 1))
	}
	if q.Currency == "" {
		return out
	}
	add("Preparation, cutting and touch-ups together take %s (%s to %s).", clock(3600*q.Hours.Value), clock(3600*q.Hours.Low), clock(3600*q.Hours.High))
	c := q.Currency
	if q.Priced {
		add("Work %s %s, metal %s %s: %s %s in all, between %s and %s.", money(q.Work.Value), c, money(q.Metal), c, money(q.Total.Value), c, money(q.Total.Low), money(q.Total.High))
	} else {
		add("Work %s %s, between %s and %s; the metal has no price or no density and is not in it.", money(q.Work.Value), c, money(q.Work.Low), money(q.Work.High))
	}
	return out
}

func lengths(n int) string {
	if n == 1 {
		return "one length seen to its end"
	}
	return fmt.Sprintf("%d lengths seen to their end", n)
}

// times says how often the cutter is touched up.
func times(r Range) string {
	if r.Low == r.High {
		if r.Value == 0 {
			return "it need not be touched up within this piece"
		}
		return "touch it up " + many(int(r.Value), "time")
	}
	return fmt.Sprintf("touch it up %.0f to %.0f times", r.Low, r.High)
}

func many(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func decimals(v float64, n int) string { return fmt.Sprintf("%.*f", n, v) }

func seconds(v float64) string {
	if v < 10 {
		return decimals(v, 1)
	}
	return decimals(v, 0)
}

func money(v float64) string { return decimals(v, 2) }

// clock tells a time in hours and minutes.
func clock(s float64) string {
	m := int(math.Round(s / 60))
	switch {
	case s < 59.5:
		return fmt.Sprintf("%.0f s", s)
	case m < 60:
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}
