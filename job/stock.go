package job

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"path"
	"strings"

	"go.yaml.in/yaml/v4"
	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/fault"
)

// Stock is what a job knows of the surface of its blank before the first cut.
// The form that it is meant to have is Setup.Blank.Nominal.
type Stock struct {
	Readings *blank.Readings // nil when the work was not read
	Untrued  bool            // it is cut as it was read; otherwise truing takes the tilt out first
	Scatter  float64         // standard deviation of one reading, mm; 0 has it estimated from the readings
}

var (
	figureNames = []string{"flat", "cylinder", "dome", "cone", "turned"}
	nominals    = []blank.Figure{blank.Flat, blank.Cylinder, blank.Dome, blank.Cone, blank.Turned}
)

func nominalOf(j *Job) *blank.Nominal { return &j.Setup.Blank.Nominal }

// stockRecord is the table of stock:. It fills the blank's nominal form and
// Job.Stock, which is there while it is read.
var stockRecord = &record[Job]{
	name: "the stock", selector: "form",
	variant: func(_ *reader, j *Job) string {
		if f := nominalOf(j).Figure; f >= blank.Flat && int(f) < len(figureNames) {
			return figureNames[f]
		}
		return ""
	},
	fields: []field[Job]{
		formField,
		at("centre", "Where its highest or lowest place lies, [x, y] from the middle of the chuck.", place2, func(j *Job) *r2.Vec { return &nominalOf(j).Centre }).
			of("cylinder", "dome", "cone", "turned"),
		must("radius", "Radius of the surface; below 0 it is hollow.", lengthOf(anyValue), func(j *Job) *float64 { return &nominalOf(j).Radius }).of("cylinder", "dome"),
		at("axis", "Direction of the cylinder's axis, from x.", angleOf(anyValue), func(j *Job) *float64 { return &nominalOf(j).Axis }).of("cylinder"),
		must("fall", "Angle of the cone's flank against the level; below 0 it is hollow.", angleOf(anyValue), func(j *Job) *float64 { return &nominalOf(j).Fall }).of("cone"),
		must("profile", "Section from the middle outwards, each [radius, height]; a smooth curve joins the points.",
			listOf(place2, 3, mostProfile, true), func(j *Job) *[]r2.Vec { return &nominalOf(j).Profile }).of("turned"),
		readingsField,
		at("untrued", "Whether the work is cut as it was read, its tilt with it; left out, truing takes the tilt out first.", yesNo, func(j *Job) *bool { return &j.Stock.Untrued }),
		at("scatter", "Standard deviation of one reading; left out, it is estimated.", lengthOf(fromZero), func(j *Job) *float64 { return &j.Stock.Scatter }),
	},
}

// formField leaves a form that cannot be read unknown, so that the keys of any
// form are taken.
var formField = func() field[Job] {
	f := must("form", "Form that the surface is meant to have: flat, cylinder, dome, cone, or turned, a surface of revolution.",
		choice(figureNames, nominals), func(j *Job) *blank.Figure { return &nominalOf(j).Figure })
	read := f.read
	f.read = func(r *reader, n *yaml.Node, at string, j *Job) {
		nominalOf(j).Figure = -1
		read(r, n, at, j)
	}
	return f
}()

var stockField = field[Job]{
	key: "stock", doc: "The surface before the first cut: its form, and readings of it; left out, it is true to a flat form.",
	read: func(r *reader, n *yaml.Node, at string, j *Job) {
		j.Stock = &Stock{}
		stockRecord.fill(r, n, at, j)
	},
	write: func(w *writer, j *Job) *yaml.Node {
		if j.Stock == nil {
			return nil
		}
		return stockRecord.node(w, j)
	},
	schema: stockRecord.schema,
}

// Limits of readings. Those written in a job have their bytes' limit too.
const (
	mostProfile      = 10_000
	mostReadings     = 10_000   // written in a job
	mostReadingBytes = 64 << 20 // of a file of readings
)

// readingsField reads the name of a file in readings/, or the readings themselves.
var readingsField = field[Job]{
	key: "readings", doc: "Indicator readings: the name of a file in readings/, or a list of [x, y, z]; left out, the work is true to its form.",
	read: func(r *reader, n *yaml.Node, at string, j *Job) {
		opts := blank.ReadingOptions{Blank: &j.Setup.Blank}
		if r.refused("blank") {
			opts.Blank = nil
		}
		if n.Kind == yaml.SequenceNode {
			j.Stock.Readings = r.readingsHere(n, at, opts)
			return
		}
		if name, ok := text(mostName).read(r, n, at); ok {
			j.Stock.Readings = r.readingsFile(n, at, strings.TrimSuffix(name, readingsExtension), opts)
		}
	},
	write: func(w *writer, j *Job) *yaml.Node {
		if j.Stock.Readings == nil {
			return nil
		}
		n := &yaml.Node{Kind: yaml.SequenceNode}
		for _, p := range j.Stock.Readings.Points {
			for range max(1, p.Count) {
				n.Content = append(n.Content, placeRead.write(w, p))
			}
		}
		return n
	},
	schema: func(s *schemer) schema {
		return schema{"anyOf": []any{
			schema{"type": "string", "minLength": 1, "maxLength": mostName},
			schema{"type": "array", "items": placeRead.schema(s), "minItems": 3, "maxItems": mostReadings},
		}}
	},
}

// placeRead is one reading, [x, y, z].
var placeRead = codec[blank.Reading]{
	read: func(r *reader, n *yaml.Node, at string) (v blank.Reading, ok bool) {
		if n.Kind != yaml.SequenceNode || len(n.Content) != 3 {
			r.fault(n, at, "a reading is due here", "write three values in brackets, [x, y, z], such as [3, -4, 0.012]")
			return v, false
		}
		v.Line, ok = n.Line, true
		for i, to := range []*float64{&v.Place.X, &v.Place.Y, &v.Z} {
			var good bool
			*to, good = anyLength.read(r, n.Content[i], item(at, i))
			ok = ok && good
		}
		return v, ok
	},
	write: func(w *writer, v blank.Reading) *yaml.Node {
		return &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle,
			Content: []*yaml.Node{anyLength.write(w, v.Place.X), anyLength.write(w, v.Place.Y), anyLength.write(w, v.Z)}}
	},
	schema: func(s *schemer) schema {
		one := anyLength.schema(s)
		return schema{"type": "array", "prefixItems": []any{one, one, one}, "minItems": 3, "maxItems": 3}
	},
}

var anyLength = lengthOf(anyValue)

// readingsHere reads readings that stand in the job.
func (r *reader) readingsHere(n *yaml.Node, at string, opts blank.ReadingOptions) *blank.Readings {
	points, ok := listOf(placeRead, 3, mostReadings, false).read(r, n, at)
	if !ok {
		return nil
	}
	rs, err := blank.NewReadings(r.src.name, points, opts)
	r.told(n, at, err)
	return rs
}

// readingsExtension is that of the files in readings/.
const readingsExtension = ".csv"

// readingsFile reads a file of the workshop's readings.
func (r *reader) readingsFile(n *yaml.Node, at, name string, opts blank.ReadingOptions) *blank.Readings {
	if !validName(name) {
		r.fault(n, at, quoted(name)+" is not a name of a file of readings", "name a file in readings/ of this workshop by its name alone, without folder and without "+readingsExtension)
		return nil
	}
	file := path.Join(r.shop.dir, "readings", name+readingsExtension)
	shown := "readings/" + name + readingsExtension
	text, bad := readFile(r.shop.fsys, file, mostReadingBytes, "read fewer places, or keep every other one")
	if bad != nil {
		problem, mend := shown+": "+bad.problem, bad.mend
		if bad.missing {
			problem = fmt.Sprintf("there are no readings %s", quoted(name))
			mend = fmt.Sprintf("write them to %s, or as a list of [x, y, z] here", shown)
			if known := r.shop.names("readings", readingsExtension); len(known) > 0 {
				mend = suggest(name, known, "readings/ holds")
			}
		}
		r.fault(n, at, problem, mend)
		return nil
	}
	sum := sha256.Sum256(text)
	r.shop.files[file] = &partFile{src: &source{name: r.shop.shown + shown, text: sum[:]}} // the text itself is not kept
	rs, err := blank.ReadReadings(bytes.NewReader(text), r.shop.shown+shown, opts)
	r.told(n, at, err)
	return rs
}

// told takes faults that name their own file. Those that name none are of the
// value at n.
func (r *reader) told(n *yaml.Node, at string, err error) {
	var l fault.List
	if !errors.As(err, &l) {
		if err != nil {
			r.fault(n, at, err.Error(), "")
		}
		return
	}
	for _, f := range l {
		if f.Origin.File == "" || f.Origin.Line == 0 && f.Origin.File == r.src.name {
			r.fault(n, at, f.Problem, f.Mend)
			continue
		}
		var src *source
		if f.Origin.File == r.src.name {
			src = r.src
		}
		r.faults = append(r.faults, finding{f, join(r.root, at), false, src})
	}
}
