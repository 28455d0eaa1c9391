package bench

import (
	"math"
	"slices"
)

// Pace is how fast a run goes, from the times between counts. Times that are
// breaks are left out: those in which something else than a count was told, and
// those beyond the cut-off.
type Pace struct {
	Cuts      int     // times that it rests on; 0 when nothing can be said
	Seconds   float64 // a cut, mean
	Low, High float64 // four in five cuts take as long, s
	CutOff    float64 // beyond this a time was taken for a break, s
	Breaks    int     // times left out as breaks

	// Where cuts differ enough in length: a cut of L mm takes Fixed + PerMM·L
	// seconds. PerMM is 0 otherwise, and Fixed is Seconds.
	Fixed, PerMM float64

	spread  float64 // standard deviation of one time about the above, s
	lasting float64 // variance of a sum of many times, over that of as many independent ones
}

// Span is a time with its range, in which it lies four times in five if the work
// goes on as it went.
type Span struct{ Seconds, Low, High float64 }

// What the figures of a pace rest on.
const (
	leastCuts  = 5      // times before anything is said; a guess
	leastFit   = 20     // times before length is looked at; a guess
	breakTimes = 3.0    // a break is longer than so many times the usual; a guess, as a slow cut takes twice as long
	breakMADs  = 8.0    // and further beyond it than so many MADs
	fourInFive = 1.2816 // standard normal deviate that leaves a tenth on either side

	// The same where the variance comes from a window of a third of the times:
	// 1.2816 + 1.3040 b + 0.5135 b² − 0.3386 b³ at b = 1/3 (Kiefer and Vogelsang,
	// Econometric Theory 21, 2005, from memory; TestPaceRangeHolds has the coverage).
	windowed = 1.7608
)

// PaceOf tells the pace of a run by the times of its counts: of cut n+1 less of
// cut n, counted one after the other on one device, since clocks differ. lengths
// are those of the cuts in the metal, mm, cut 1 first; they may be nil.
//
// A time is taken for a break when it is longer than three times the median and
// by more than eight median absolute deviations (scaled to a standard deviation,
// factor 1.4826) beyond it. The mean is that of the times kept, as a sum of many
// is what is asked for.
func PaceOf(events []Event, lengths []float64) Pace {
	seconds, cuts, interrupted := intervals(events)
	p := Pace{Breaks: interrupted}
	if len(seconds) < leastCuts {
		return p
	}
	middle := median(seconds)
	away := make([]float64, len(seconds))
	for i, s := range seconds {
		away[i] = math.Abs(s - middle)
	}
	p.CutOff = max(breakTimes*middle, middle+breakMADs*1.4826*median(away))
	var kept []float64
	var of []float64
	for i, s := range seconds {
		if s > p.CutOff {
			p.Breaks++
			continue
		}
		kept = append(kept, s)
		if n := cuts[i]; n <= len(lengths) {
			of = append(of, lengths[n-1])
		}
	}
	p.Cuts = len(kept)
	p.Seconds = mean(kept)
	p.Fixed = p.Seconds
	sorted := slices.Clone(kept)
	slices.Sort(sorted)
	p.Low, p.High = quantile(sorted, 0.1), quantile(sorted, 0.9)
	if len(of) == len(kept) {
		p.fit(kept, of)
	}
	p.scatter(kept, of)
	return p
}

// intervals lists the times from one count to the next with the number of the
// cut that ends each, and how many were interrupted by something else.
func intervals(events []Event) (seconds []float64, cuts []int, interrupted int) {
	var last *Event
	broken := false
	told := map[int]bool{} // a tablet that comes back tells the same cuts again
	for i := range events {
		e := &events[i]
		switch e.Kind {
		case Done:
			if told[e.Cut] {
				continue
			}
			told[e.Cut] = true
			if last != nil && e.Cut == last.Cut+1 && e.Device == last.Device {
				if s := e.At.Sub(last.At).Seconds(); broken {
					interrupted++
				} else if s > 0 {
					seconds, cuts = append(seconds, s), append(cuts, e.Cut)
				}
			}
			last, broken = e, false
		case Undone, Placed: // these are cut again
			for n := range told {
				if n == e.Cut || e.Kind == Placed && n > e.Cut {
					delete(told, n)
				}
			}
			broken = true
		case Measured, Note: // made beside the work as often as in its stead; the cut-off tells
		default:
			broken = true
		}
	}
	return seconds, cuts, interrupted
}

// fit finds what part of the time goes with the length, where lengths differ
// enough for it to show: least squares, kept when the slope is above 0 by twice
// its standard error.
func (p *Pace) fit(seconds, lengths []float64) {
	n := float64(len(seconds))
	l, s := mean(lengths), p.Seconds
	var ll, ls float64
	for i := range lengths {
		ll += (lengths[i] - l) * (lengths[i] - l)
		ls += (lengths[i] - l) * (seconds[i] - s)
	}
	if len(seconds) < leastFit || !(l > 0) || math.Sqrt(ll/n) < 0.05*l {
		return
	}
	slope := ls / ll
	rest := 0.0
	for i := range lengths {
		d := seconds[i] - s - slope*(lengths[i]-l)
		rest += d * d
	}
	if slope < 2*math.Sqrt(rest/(n-2)/ll) || s-slope*l < 0 {
		return
	}
	p.PerMM, p.Fixed = slope, s-slope*l
}

// scatter finds the standard deviation of a time about what it is expected to be,
// and how much more a sum of many varies than by that, since a tired hand is slow
// for many cuts: the long-run variance with Bartlett's window over a third of the
// times (Newey and West, Econometrica 55, 1987, from memory).
func (p *Pace) scatter(seconds, lengths []float64) {
	rest := make([]float64, len(seconds))
	sum := 0.0
	for i, s := range seconds {
		rest[i] = s - p.Fixed
		if p.PerMM > 0 {
			rest[i] -= p.PerMM * lengths[i]
		}
		sum += rest[i] * rest[i]
	}
	p.spread, p.lasting = math.Sqrt(sum/float64(max(1, len(rest)-1))), 1
	if !(sum > 0) {
		return
	}
	window := len(rest) / 3
	for k := 1; k <= window && k < len(rest); k++ {
		product := 0.0
		for i := k; i < len(rest); i++ {
			product += rest[i] * rest[i-k]
		}
		p.lasting += 2 * (1 - float64(k)/float64(window+1)) * product / sum
	}
	p.lasting = max(1, p.lasting)
}

// Left is how long so many more cuts take at this pace, breaks apart. lengths are
// those of the cuts that are left, mm; nil takes them to be like those made. The
// variance is that of the sum of the cuts to come and that of the mean it goes by.
func (p Pace) Left(cuts int, lengths []float64) Span {
	if p.Cuts == 0 || cuts <= 0 {
		return Span{}
	}
	n := float64(cuts)
	total := n * p.Seconds
	if p.PerMM > 0 && len(lengths) == cuts {
		total = n * p.Fixed
		for _, l := range lengths {
			total += p.PerMM * l
		}
	}
	sd := p.spread * math.Sqrt((n+n*n/float64(p.Cuts))*p.lasting)
	return Span{total, max(0, total-windowed*sd), total + windowed*sd}
}

// Worked is a run as far as its costs are learned from it.
type Worked struct {
	Events  []Event
	Lengths []float64 // of its cuts in the metal, mm, in the order of cutting
}

// Learned is what runs of one engine tell about the next.
type Learned struct {
	Runs   int  // that tell a pace
	Stroke Span // seconds a stroke of another run: the middle of the runs, with their spread
	PerMM  Span // of it, seconds a millimetre; 0 when no run tells it

	TouchUps int  // lengths of cut between touch-ups that were seen to their end
	Life     Life // of the cutter
}

// Life is the length that a cutter cuts between touch-ups, mm.
type Life struct{ Length, Low, High float64 }

// Learn gathers what runs of one engine tell: the seconds a stroke and the length
// cut between touch-ups. With one run the range is that of its own pace; with
// several it is that of a run to come, mean ± 1.28·s·√(1 + 1/n), and no narrower
// than the runs themselves.
func Learn(runs []Worked) Learned {
	var out Learned
	var strokes, slopes, lives []float64
	var only Pace
	for _, r := range runs {
		if p := PaceOf(r.Events, r.Lengths); p.Cuts > 0 {
			strokes, only = append(strokes, p.Seconds), p
			if p.PerMM > 0 {
				slopes = append(slopes, p.PerMM)
			}
		}
		lives = append(lives, between(r.Events, r.Lengths)...)
	}
	out.Runs, out.TouchUps = len(strokes), len(lives)
	switch s := spanOf(strokes); {
	case len(strokes) == 1:
		out.Stroke = Span{only.Seconds, only.Low, only.High}
	case len(strokes) > 1:
		out.Stroke = s
	}
	out.PerMM = spanOf(slopes)
	l := spanOf(lives)
	out.Life = Life{l.Seconds, l.Low, l.High}
	return out
}

// spanOf is the mean with the range of a value to come.
func spanOf(v []float64) Span {
	if len(v) == 0 {
		return Span{}
	}
	m, sum := mean(v), 0.0
	for _, x := range v {
		sum += (x - m) * (x - m)
	}
	n := float64(len(v))
	s := 0.0
	if n > 1 {
		s = fourInFive * math.Sqrt(sum/(n-1)*(1+1/n))
	}
	return Span{m, max(0, min(m-s, slices.Min(v))), max(m+s, slices.Max(v))}
}

// between lists the lengths cut from one touch-up to the next. What was cut since
// the last is left out: nobody knows how long it would have gone on; so is what
// was cut before the first, as the cutter came with a past.
func between(events []Event, lengths []float64) []float64 {
	var out []float64
	sum, sharp := 0.0, false
	at := map[int]bool{}
	for i := range events {
		switch e := &events[i]; e.Kind {
		case Done:
			if n := e.Cut; n >= 1 && n <= len(lengths) && !at[n] {
				at[n] = true
				sum += lengths[n-1]
			}
		case TouchedUp:
			if sharp && sum > 0 {
				out = append(out, sum)
			}
			sum, sharp = 0, true
		}
	}
	return out
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// median of values in any order, which stay as they are.
func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return quantile(s, 0.5)
}

// quantile of sorted values, between the two nearest.
func quantile(sorted []float64, q float64) float64 {
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
