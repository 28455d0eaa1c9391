package sheet

import (
	"fmt"
	"strings"

	"brightcut/engine"
	"brightcut/fault"
)

// fields finds the place in the job file of the wish behind a move: by the line
// that asks for it, and in a job that was not read from a file by what it asks.
// Where two such lines ask the same, neither is named, for a change of the one
// would then show as a change of the other.
type fields map[wish]string

type wish struct {
	origin fault.Origin
	motion engine.Motion
	axis   engine.Axis
	amount engine.Amount
	name   string
	depth  float64
}

func wishOf(m engine.Move) wish {
	w := wish{motion: m.Motion}
	if m.Motion == engine.Set {
		w.axis = m.Axis // one line may set several
	}
	if m.Origin.Line > 0 {
		w.origin = m.Origin
		return w
	}
	w.name, w.depth, w.amount = m.Name, m.Depth, m.Wish
	return w
}

// lines are the paths of the job file's lines, by where they stand; a job that
// was not read from a file has none, and its items are counted.
func fieldsOf(setup *engine.Setup, lines map[fault.Origin]string) fields {
	f := fields{}
	f.walk(setup.Sequence, "sequence", lines)
	if setup.Engine.Kind == engine.Rose {
		for w, path := range f {
			if at, is := strings.CutSuffix(path, ".bar"); is && w.motion == engine.Swap {
				f[w] = at + ".rosette"
			}
		}
	}
	return f
}

func (f fields) walk(items []engine.Item, path string, lines map[fault.Origin]string) {
	for i, item := range items {
		f.item(item, fmt.Sprintf("%s[%d]", path, i), lines)
	}
}

func (f fields) item(item engine.Item, path string, lines map[fault.Origin]string) {
	if at := lines[item.Origin]; at != "" {
		path = at // one line may set several axes, and then is several items
	}
	switch item.Motion {
	case engine.Repeat:
		f.walk(item.Body, path+".do", lines)
		return
	case engine.Alternate:
		for i, choice := range item.Choices {
			at := fmt.Sprintf("%s.alternate[%d]", path, i)
			if len(choice) == 1 {
				f.item(choice[0], at, lines)
			} else {
				f.walk(choice, at, lines)
			}
		}
		return
	}
	if item.Motion == engine.CutOne && item.Depth != 0 {
		f[wishOf(engine.Move{Motion: engine.SetDepth, Depth: item.Depth, Origin: item.Origin})] = path + ".cut.depth"
		return
	}
	key := motionKeys[item.Motion]
	if key == "" {
		return
	}
	if item.Motion == engine.Set {
		key += "." + axisKeys[item.Axis]
	}
	w := wishOf(engine.Move{Motion: item.Motion, Axis: item.Axis, Wish: item.Amount, Name: item.Name, Depth: item.Depth, Origin: item.Origin})
	if _, twice := f[w]; twice {
		f[w] = ""
		return
	}
	f[w] = path + "." + key
}

func (f fields) of(m engine.Move) string { return f[wishOf(m)] }

// The keys of the job file.
var (
	motionKeys = map[engine.Motion]string{
		engine.Step: "step", engine.Turn: "turn", engine.Shift: "shift", engine.Chuck: "chuck",
		engine.Set: "set", engine.Swap: "bar", engine.SetDepth: "depth", engine.Note: "note",
	}
	axisKeys = map[engine.Axis]string{
		engine.SlideAxis: "slide", engine.IndexAxis: "index", engine.ShiftAxis: "shift", engine.ChuckAxis: "chuck",
	}
)
