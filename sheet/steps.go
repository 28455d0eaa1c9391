package sheet

import (
	"fmt"
	"strconv"

	"brightcut/engine"
)

// Step is a line of the sequence as the job writes it, in words, where the table
// of the sheet tells what is done cut by cut.
type Step struct {
	Path     string   // of the line in the job file, "sequence[0].do[1]"
	Motion   string   // its key there: "cut", "step", "repeat"
	Sentence Sentence // with what whole counts make of the wish
	First    int      // number of the first cut that it leads to or makes; 0 when it is never reached
	Line     int      // of the file; 0 when no file was read
	Do       []Step   // of a repeat
	Choices  [][]Step // of an alternation
}

// Steps tells the sequence line by line.
func (s *Sheet) Steps() []Step {
	t := &teller{k: s.voice, met: map[string]meeting{}}
	for i := range s.list.Cuts {
		c := &s.list.Cuts[i]
		t.meet(t.k.lines[c.Origin], engine.Move{}, "", c.Number)
		barOn := t.k.barBefore(s.list, i)
		for _, m := range c.Moves {
			t.meet(t.k.fields.of(m), m, barOn, c.Number)
			if m.Motion == engine.Swap {
				barOn = m.Name
			}
		}
	}
	for _, m := range s.list.After {
		t.meet(t.k.fields.of(m), m, "", 0)
	}
	return t.steps(t.k.setup.Sequence, "sequence")
}

// teller knows what became of each line.
type teller struct {
	k   *speaker
	met map[string]meeting // by the field of the wish, or the path of a cut
}

// meeting is the first time that a line is reached, and how its counts vary.
type meeting struct {
	move        engine.Move
	barOn       string
	cut         int
	least, most int
}

func (t *teller) meet(field string, m engine.Move, barOn string, cut int) {
	if field == "" {
		return
	}
	was, again := t.met[field]
	if !again {
		was = meeting{m, barOn, cut, m.Count, m.Count}
	}
	was.least, was.most = min(was.least, m.Count), max(was.most, m.Count)
	t.met[field] = was
}

func (t *teller) steps(items []engine.Item, path string) []Step {
	var out []Step
	for i := range items {
		at := fmt.Sprintf("%s[%d]", path, i)
		if known := t.k.lines[items[i].Origin]; known != "" {
			at = known
		}
		if n := len(out); n > 0 && out[n-1].Path == at { // the same line sets a further axis
			out[n-1].Sentence = say(opened(out[n-1].Sentence), " and ", t.phrase(&items[i], at), ".")
			continue
		}
		out = append(out, t.step(&items[i], at))
	}
	return out
}

// opened takes the full stop off a sentence.
func opened(s Sentence) Sentence {
	if n := len(s); n > 0 && s[n-1].Text == "." {
		return s[:n-1]
	}
	return s
}

func (t *teller) step(item *engine.Item, path string) Step {
	s := Step{Path: path, Line: item.Origin.Line}
	switch item.Motion {
	case engine.Repeat:
		s.Motion = "repeat"
		s.Sentence = say("Repeat ", value(path+".repeat", count(item.Count, "time", "times"), "times", ""), ":")
		s.Do = t.steps(item.Body, path+".do")
		if len(s.Do) > 0 {
			s.First = s.Do[0].First
		}
	case engine.Alternate:
		s.Motion = "alternate"
		s.Sentence = words("The next of these each time:")
		for i, choice := range item.Choices {
			at := fmt.Sprintf("%s.alternate[%d]", path, i)
			if len(choice) == 1 && t.k.lines[choice[0].Origin] == "" {
				s.Choices = append(s.Choices, []Step{t.step(&choice[0], at)})
				continue
			}
			s.Choices = append(s.Choices, t.steps(choice, at))
		}
		if len(s.Choices) > 0 && len(s.Choices[0]) > 0 {
			s.First = s.Choices[0][0].First
		}
	case engine.CutOne:
		s.Motion, s.Sentence, s.First = "cut", t.cut(item, path), t.met[path].cut
	default:
		s.Motion = t.key(item)
		s.First = t.met[t.field(item, path)].cut
		s.Sentence = say(t.phrase(item, path), ".")
		if item.Motion == engine.Note {
			s.Sentence = t.phrase(item, path)
		}
		if len(s.Sentence) > 0 {
			s.Sentence[0].Text = capital(s.Sentence[0].Text)
		}
	}
	return s
}

func (t *teller) key(item *engine.Item) string {
	if item.Motion == engine.Swap {
		return t.k.barWord()
	}
	return motionKeys[item.Motion]
}

func (t *teller) field(item *engine.Item, path string) string {
	field := path + "." + t.key(item)
	if item.Motion == engine.Set {
		field += "." + axisKeys[item.Axis]
	}
	return field
}

func (t *teller) cut(item *engine.Item, path string) Sentence {
	s := words("Cut")
	if l := item.Limits; l != nil {
		from, to, unit := t.k.size(l.From), t.k.size(l.To), t.k.name()
		if t.k.rose() {
			from, to, unit = degrees(l.From), degrees(l.To), "°"
		}
		s = say(s, " from ", value(path+".cut.from", from, unit, ""), " to ", value(path+".cut.to", to, unit, ""))
	}
	if item.Depth != 0 {
		s = say(s, ", ", value(path+".cut.depth", t.k.micron(item.Depth), t.k.depthUnit(), t.k.depthExact(item.Depth)), " deep")
	}
	return say(s, ".")
}

// phrase tells a motion by what became of it, or as it was wished when nothing
// was moved for it: no cut follows, or the dial stands there already.
func (t *teller) phrase(item *engine.Item, path string) Sentence {
	field := t.field(item, path)
	if item.Motion == engine.Note {
		return say(value(field, item.Name, "", ""))
	}
	met, ok := t.met[field]
	if !ok {
		wish := orElse(item.Amount.Text, item.Name)
		if item.Motion == engine.SetDepth {
			wish = t.k.micron(item.Depth)
		}
		kind := Amount
		words := t.key(item) + " "
		switch item.Motion {
		case engine.Set:
			name, _, _ := t.k.axis(item.Axis)
			words = "bring " + name + " to "
		case engine.Swap:
			kind = Named
		case engine.SetDepth:
			kind = Depth
		}
		p := value(field, wish, "", "")
		p.Kind = kind
		return say(words, p)
	}
	phrases := t.k.phrases([]engine.Move{met.move}, met.barOn)
	if len(phrases) == 0 {
		return nil
	}
	s := phrases[0]
	if met.least != met.most && item.Motion != engine.Set {
		for i := range s {
			if s[i].Value {
				s[i].Exact += "; " + strconv.Itoa(met.least) + " to " + strconv.Itoa(met.most) + " in the course of the work"
			}
		}
	}
	return s
}
