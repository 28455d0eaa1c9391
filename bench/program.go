package bench

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/job"
	"brightcut/sheet"
)

// extension of a job's file.
const extension = ".yaml"

func jobName(file string) string { return strings.TrimSuffix(file, extension) }

// Program is what is to be done at the engine, cut by cut, in the sheet's words.
type Program struct {
	Job    *job.Job
	List   *engine.List // in the order of cutting; as deep as predicted when the job is planned
	Plan   *depth.Plan  // nil when it is not
	Sheet  *sheet.Sheet
	Circle int    // of the index wheel; 0 when it is not used
	Angle  bool   // readings are those of a spindle, rad; otherwise of a stroke, mm
	After  string // to be done after the last cut
	Cuts   []Stroke
}

// Stroke is one cut as the count shows it.
type Stroke struct {
	Number   int // in the order of cutting
	Written  int // in the job
	Action   string
	Moves    sheet.Sentence
	Spans    []sheet.Span
	Hold     Hold
	HoldText string
	Change   string  // what interrupts the rhythm before it: another hold, bar or depth, words of the job; empty before most
	Depth    float64 // mm
	Settings engine.Settings
	Dials    []string // as many as Program.Sheet.Dials
	Length   float64  // cut in the metal, mm
}

// Hold is what holds the depth of a cut.
type Hold string

// The holds.
const (
	ByGuide Hold = "guide"
	ByStop  Hold = "stop"
	ByHand  Hold = "hand"
	Fixed   Hold = "fixed"
)

// ErrOtherCuts says that the program makes other cuts of the frozen job than the
// run was started with.
var ErrOtherCuts = errors.New("this version of the program makes other cuts of the job than those that the run was started with; finish it with the version that started it")

// Plan tells what is to be done, cut by cut: the frozen job worked out once more.
// The error is ErrOtherCuts when it no longer comes to the settings of the run.
func (r *Run) Plan(ctx context.Context) (*Program, error) {
	p, err := program(ctx, r.Frozen)
	if err != nil {
		return nil, fmt.Errorf("work out the cuts of run %s: %w", r.ID, err)
	}
	if len(p.List.Cuts) != len(r.Settings) {
		return nil, fmt.Errorf("work out the cuts of run %s: %w", r.ID, ErrOtherCuts)
	}
	for i := range r.Settings {
		if p.List.Cuts[i].Settings != r.Settings[i] {
			return nil, fmt.Errorf("work out cut %d of run %s: %w", i+1, r.ID, ErrOtherCuts)
		}
	}
	return p, nil
}

// program works a frozen job out.
func program(ctx context.Context, f *Frozen) (*Program, error) {
	j, err := f.Job()
	if err != nil {
		return nil, err
	}
	list, err := j.Cuts(ctx)
	if err != nil {
		return nil, err
	}
	if len(list.Cuts) == 0 {
		return nil, fmt.Errorf("%s makes no cut: there is nothing to count", f.Name)
	}
	p := &Program{Job: j, List: list, Circle: list.Circle, Angle: j.Setup.Engine.Kind == engine.Rose}
	if j.Planned() {
		if p.Plan, _, err = j.Plan(ctx, list); err != nil {
			return nil, err
		}
		p.List = p.Plan.List(list)
	}
	p.Sheet = sheet.NewPlanned(j, p.List, p.Plan)
	p.After = p.Sheet.Closing()
	p.Cuts = make([]Stroke, len(p.List.Cuts))
	hold := 0
	for i := range p.List.Cuts {
		c := &p.List.Cuts[i]
		at := p.Sheet.At(c)
		s := Stroke{Number: c.Number, Written: c.Number, Action: p.Sheet.Action(c), Moves: p.Sheet.Moves(c), Spans: at.Spans, Change: p.Sheet.Change(c),
			Depth: c.Depth, Settings: c.Settings, Dials: at.Dials, Length: lengthOf(c)}
		if p.Plan == nil {
			s.Hold, s.HoldText = ByHand, "Stop or hand holds the depth."
			switch {
			case j.Guide != nil:
				s.Hold, s.HoldText = ByGuide, "The guide holds the depth."
			case j.Stop != nil:
				s.Hold, s.HoldText = ByStop, "The stop holds the depth."
			}
		} else {
			s.Written = p.Plan.Written(c.Number)
			for hold < len(p.Plan.Holds)-1 && p.Plan.Holds[hold].Last < c.Number {
				hold++
			}
			s.Hold, s.HoldText = held(p.Plan.Holds[hold])
		}
		p.Cuts[i] = s
	}
	return p, nil
}

// held says in words what holds the depth.
func held(h depth.Hold) (Hold, string) {
	switch h.By {
	case depth.ByGuide:
		return ByGuide, "The guide holds the depth."
	case depth.ByStop:
		if h.Groove > 0 {
			return ByStop, fmt.Sprintf("The stop holds the depth, set in the groove of cut %d.", h.Groove)
		}
		return ByStop, "The stop holds the depth, set on the uncut work."
	case depth.Fixed:
		return Fixed, "The engine's own height holds the depth."
	}
	return ByHand, "The hand holds the depth."
}

// lengthOf is the length that a cut has in the metal, mm.
func lengthOf(c *engine.Cut) float64 {
	sum := 0.0
	for _, p := range c.Pieces {
		for i := 1; i < len(p.Path); i++ {
			sum += math.Hypot(p.Path[i].X-p.Path[i-1].X, p.Path[i].Y-p.Path[i-1].Y)
		}
	}
	return sum
}
