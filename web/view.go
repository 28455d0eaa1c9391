package web

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/job"
	"brightcut/sheet"
)

// view is a job as the page gets it.
type view struct {
	ID        string      `json:"id"`
	Title     string      `json:"title"`
	Units     string      `json:"units"`
	Text      string      `json:"text"`
	Revision  string      `json:"revision"`
	Digest    string      `json:"digest,omitempty"`
	Values    []job.Value `json:"values"`
	Faults    []told      `json:"faults"`
	Stale     bool        `json:"stale"`
	Sentences []sentence  `json:"sentences"`
	Steps     []step      `json:"steps"`
	Cuts      *cutsView   `json:"cuts,omitempty"`
	Outline   *outline    `json:"outline,omitempty"`
	Metal     string      `json:"metal,omitempty"`
	Colour    string      `json:"colour,omitempty"`
	Cutter    *cutterView `json:"cutter,omitempty"`
	Warnings  []warning   `json:"warnings"`
	Closures  []closure   `json:"closures"`
	Has       has         `json:"has"`
}

type sentence struct {
	Section string `json:"section"`
	Parts   []part `json:"parts"`
}

// part is a stretch of a sentence: words in text, or a value.
type part struct {
	Text    string   `json:"text,omitempty"`
	Value   *string  `json:"value,omitempty"`
	Written *string  `json:"written,omitempty"`
	Unit    string   `json:"unit,omitempty"`
	Field   string   `json:"field,omitempty"`
	Exact   string   `json:"exact,omitempty"`
	Kind    string   `json:"kind,omitempty"`
	Count   *int     `json:"count,omitempty"`
	Choices []choice `json:"choices,omitempty"`
	Part    *inPart  `json:"part,omitempty"`
}

type choice struct {
	Value string `json:"value"`
	Name  string `json:"name"`
}

// inPart says where in a part's own file a value stands.
type inPart struct {
	Kind   string   `json:"kind"` // in the plural, as the folder
	ID     string   `json:"id"`
	Field  string   `json:"field"`
	UsedBy []string `json:"used_by,omitempty"`
}

type step struct {
	Path     string   `json:"path"`
	Motion   string   `json:"motion"`
	Parts    []part   `json:"parts"`
	FirstCut int      `json:"first_cut,omitempty"`
	Line     int      `json:"line,omitempty"`
	Do       []step   `json:"do,omitempty"`
	Choices  [][]step `json:"choices,omitempty"`
}

type cutsView struct {
	Count       int     `json:"count"`
	Pieces      int     `json:"pieces"`
	Vertices    int     `json:"vertices"`
	Strokes     int     `json:"strokes"`
	LengthMM    float64 `json:"length_mm"`
	Seconds     float64 `json:"seconds,omitempty"`
	EngineKind  string  `json:"engine_kind"`
	ReadingUnit string  `json:"reading_unit"`
	IndexCircle int     `json:"index_circle,omitempty"`
}

type outline struct {
	WidthMM   float64        `json:"width_mm"`
	HeightMM  float64        `json:"height_mm"`
	Centre    [2]float64     `json:"centre"`
	Loops     [][][2]float64 `json:"loops"`
	Windows   []window       `json:"windows"`
	KeepClear []window       `json:"keep_clear"`
}

type window struct {
	Name  string         `json:"name,omitempty"`
	Open  bool           `json:"open,omitempty"`
	Loops [][][2]float64 `json:"loops"`
}

type cutterView struct {
	IncludedDeg  float64 `json:"included_deg"`
	FlatMM       float64 `json:"flat_mm"`
	ClearanceDeg float64 `json:"clearance_deg"`
}

type warning struct {
	Kind     string `json:"kind"`
	FirstCut int    `json:"first_cut,omitempty"`
	LastCut  int    `json:"last_cut,omitempty"`
	Line     int    `json:"line,omitempty"`
	Text     string `json:"text"`
}

type closure struct {
	Axis   string   `json:"axis"`
	Cuts   int      `json:"cuts"`
	Closes bool     `json:"closes"`
	Text   string   `json:"text"`
	Offers []string `json:"offers"`
}

type has struct {
	Bar   bool `json:"bar"`
	Depth bool `json:"depth"`
}

var axisNames = map[engine.Axis]string{
	engine.SlideAxis: "slide", engine.IndexAxis: "index", engine.ShiftAxis: "shift", engine.ChuckAxis: "chuck",
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// mostValues bounds the values of a file that the page is told one by one.
const mostValues = 5000

// mostWarnings bounds the warnings that the page is told.
const mostWarnings = 100

// view tells a state to the page. A job with faults is told by the last text of
// it that had none.
func (s *Server) view(st *state) view {
	v := view{ID: st.id, Text: string(st.text), Revision: st.revision, Values: []job.Value{}, Faults: st.told(),
		Sentences: []sentence{}, Steps: []step{}, Warnings: []warning{}, Closures: []closure{}, Title: st.id, Units: "mm"}
	if st.doc != nil {
		v.Values = st.doc.Values(mostValues)
	}
	t := s.newTeller(st.doc, v.Values)
	if title := t.written["title"]; title != "" {
		v.Title = title
	}
	if t.written["units"] == "inch" {
		v.Units = "inch"
	}
	m := st.made
	if m == nil {
		v.Stale = true
		if m, _ = s.good.peek(st.id); m == nil {
			return v
		}
	} else {
		v.Digest = m.job.Digest
	}
	m.describe(&v)
	for _, section := range []struct {
		name string
		of   []sheet.Sentence
	}{{"totals", m.sheet.Totals}, {"setup", m.sheet.Setup}, {"warnings", m.sheet.Warnings},
		{"cautions", plain(m.sheet.Cautions)}, {"closing", m.sheet.Closures}, {"notes", plain(m.sheet.Notes)}} {
		for _, one := range section.of {
			v.Sentences = append(v.Sentences, sentence{section.name, t.parts(one)})
		}
	}
	v.Steps = t.steps(m.steps)
	return v
}

func plain(lines []string) []sheet.Sentence {
	var out []sheet.Sentence
	for _, l := range lines {
		out = append(out, sheet.Sentence{{Text: l}})
	}
	return out
}

// describe tells what was made.
func (m *made) describe(v *view) {
	setup := &m.job.Setup
	c := &cutsView{Count: len(m.list.Cuts), Strokes: m.list.Strokes(), LengthMM: m.list.LengthCut(), Seconds: m.list.Seconds(),
		EngineKind: "straight line", ReadingUnit: "mm", IndexCircle: m.list.Circle}
	if setup.Engine.Kind == engine.Rose {
		c.EngineKind, c.ReadingUnit = "rose", "deg"
	}
	c.Pieces, c.Vertices = counts(m.list)
	v.Cuts = c
	v.Outline = outlineOf(&setup.Blank)
	v.Metal, v.Colour = m.job.Metal.Name, m.job.Metal.Colour
	v.Cutter = cutterOf(setup.Cutter)
	v.Has = has{Bar: len(setup.Bars) > 0, Depth: m.job.Planned() || m.job.Guide != nil}
	for i, w := range m.list.Warnings {
		if i == mostWarnings {
			break
		}
		v.Warnings = append(v.Warnings, warning{w.Kind, w.First, w.Last, w.Origin.Line, w.Text})
	}
	for _, c := range m.list.Closures {
		one := closure{Axis: axisNames[c.Axis], Cuts: c.Cuts, Closes: c.Closes, Text: c.Text, Offers: []string{}}
		for _, o := range c.Offers {
			one.Offers = append(one.Offers, o.Text)
		}
		v.Closures = append(v.Closures, one)
	}
}

func cutterOf(c cutter.Cutter) *cutterView {
	return &cutterView{tidy(degrees(c.Included)), c.Flat, tidy(degrees(c.Clearance))}
}

// outlineChord is how far a drawn outline may stray from the true one, mm.
const outlineChord = 0.005

func outlineOf(b *blank.Blank) *outline {
	box := b.Outline.Bounds()
	o := &outline{WidthMM: box.Max.X - box.Min.X, HeightMM: box.Max.Y - box.Min.Y,
		Centre: [2]float64{(box.Max.X + box.Min.X) / 2, (box.Max.Y + box.Min.Y) / 2},
		Loops:  loops(b.Outline), Windows: []window{}, KeepClear: []window{}}
	for _, w := range b.Windows {
		o.Windows = append(o.Windows, window{w.Name, w.Open, loops(w.Shape)})
	}
	for _, w := range b.KeepClear {
		o.KeepClear = append(o.KeepClear, window{w.Name, w.Open, loops(w.Shape)})
	}
	return o
}

func loops(s blank.Shape) [][][2]float64 {
	out := [][][2]float64{}
	for _, l := range s.Outline(outlineChord) {
		out = append(out, points(l))
	}
	return out
}

func points(l []r2.Vec) [][2]float64 {
	out := make([][2]float64, len(l))
	for i, p := range l {
		out[i] = [2]float64{p.X, p.Y}
	}
	return out
}

// teller adds to the parts of sentences what the page needs to change them.
type teller struct {
	s       *Server
	doc     *job.Document
	written map[string]string            // by path in the job
	inParts map[string]map[string]string // by file of a part
	choices map[string][]choice          // by folder of parts
}

func (s *Server) newTeller(doc *job.Document, values []job.Value) *teller {
	t := &teller{s: s, doc: doc, written: map[string]string{}, inParts: map[string]map[string]string{}, choices: map[string][]choice{}}
	for _, v := range values {
		t.written[v.Path] = v.Text
	}
	return t
}

func (t *teller) steps(steps []sheet.Step) []step {
	out := make([]step, 0, len(steps))
	for _, s := range steps {
		one := step{Path: s.Path, Motion: s.Motion, Parts: t.parts(s.Sentence), FirstCut: s.First, Line: s.Line}
		if len(s.Do) > 0 {
			one.Do = t.steps(s.Do)
		}
		for _, c := range s.Choices {
			one.Choices = append(one.Choices, t.steps(c))
		}
		out = append(out, one)
	}
	return out
}

func (t *teller) parts(s sheet.Sentence) []part {
	out := make([]part, 0, len(s))
	for _, p := range s {
		if !p.Value {
			out = append(out, part{Text: p.Text})
			continue
		}
		text := p.Text
		one := part{Value: &text, Unit: p.Unit, Field: p.Field, Exact: p.Exact, Kind: string(p.Kind)}
		if p.Kind == sheet.Amount {
			n := p.Count
			one.Count = &n
		}
		t.fill(&one)
		out = append(out, one)
	}
	return out
}

// fill says what the file holds for a value, and what it may be.
func (t *teller) fill(p *part) {
	if p.Field == "" || t.doc == nil {
		return
	}
	if text, ok := t.written[p.Field]; ok {
		p.Written = &text
	}
	if kind, name, field, ok := t.doc.Part(p.Field); ok {
		p.Part = &inPart{Kind: kind + "s", ID: name, Field: field}
		if text, ok := t.inPart(kind+"s", name)[field]; ok {
			p.Written = &text
		}
	}
	key := p.Field[strings.LastIndexByte(p.Field, '.')+1:]
	switch sheet.Kind(p.Kind) {
	case sheet.Metal:
		p.Choices = t.parted("metals")
		for _, m := range cutter.Metals() {
			p.Choices = append(p.Choices, choice{m.Name, m.Name})
		}
	case sheet.Named:
		p.Choices = t.parted(folderOf(p.Field))
	case sheet.Choice:
		words := []string{"right", "left"}
		if key == "figure" {
			words = []string{"sine", "trapezoid", "arcs", "zigzag"}
		}
		for _, w := range words {
			p.Choices = append(p.Choices, choice{w, w})
		}
	}
}

// folderOf is the folder of the parts that a field of a job may name.
func folderOf(field string) string {
	key := field[strings.LastIndexByte(field, '.')+1:]
	key, _, _ = strings.Cut(key, "[")
	switch key {
	case "engine", "bar", "rosette", "cutter", "guide":
		return key + "s"
	case "pumping_rosette":
		return "rosettes"
	}
	if strings.HasPrefix(field, "bars") || strings.HasPrefix(field, "rosettes") {
		return key
	}
	return ""
}

func (t *teller) parted(folder string) []choice {
	if c, ok := t.choices[folder]; ok {
		return c
	}
	var out []choice
	for _, p := range t.s.partNames(folder) {
		out = append(out, choice{p.ID, p.Name})
	}
	t.choices[folder] = out
	return out[:len(out):len(out)]
}

func (t *teller) inPart(kind, name string) map[string]string {
	file, err := partFile(kind, name)
	if err != nil {
		return nil
	}
	if m, ok := t.inParts[file]; ok {
		return m
	}
	m := map[string]string{}
	t.inParts[file] = m
	if d, err := job.Open(t.s.fsys, file); err == nil {
		for _, v := range d.Values(mostValues) {
			m[v.Path] = v.Text
		}
	}
	return m
}
