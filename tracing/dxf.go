package tracing

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"brightcut/fault"
)

// readDXF reads an ASCII drawing interchange file (Autodesk's DXF reference, R12 to
// 2018) as far as it draws lines: entities of the model and of the blocks that it
// inserts. What lies on a layer that is off or frozen is left out.
func readDXF(r io.Reader, name string, o Options) (*Drawing, error) {
	in := &limited{r: r, left: MaxBytes}
	d := &dxf{
		sketch: sketch{file: name, tolerance: o.tolerance()},
		in:     bufio.NewReaderSize(in, 64<<10), blocks: map[string]*block{}, off: map[string]bool{}, left: map[string]int{},
		insunits: -1, measurement: -1,
	}
	err := d.read()
	if in.over {
		return nil, longFault(name)
	}
	if err != nil {
		return nil, err
	}
	unit := d.unit(o.Unit)
	d.model(scaling(unit, unit))
	d.leftOut()
	return d.drawing(unit)
}

// group is one code with its value.
type group struct {
	code  int
	value float64
}

// spoken is a group as it is read, with its text where it is no number.
type spoken struct {
	group
	text string
}

// entity is one thing drawn, with its groups in the order of the file.
type entity struct {
	kind   string
	layer  string
	block  string // that an INSERT copies
	line   int
	groups []group
	vertex []entity // of a POLYLINE
}

// maxHeld bounds the groups kept, of 16 bytes each.
const maxHeld = 8 * MaxPoints

// block is a named part of a drawing that INSERT copies.
type block struct {
	base     Point
	entities []entity
}

// dxf is a drawing being read.
type dxf struct {
	sketch
	in          *bufio.Reader
	line        int
	insunits    int
	measurement int
	blocks      map[string]*block
	off         map[string]bool // layers
	entities    []entity
	left        map[string]int // kinds of entity left out
	hidden      int
	held        int // groups kept
}

func (d *dxf) origin(line int) fault.Origin {
	return fault.Origin{File: d.file, Line: line, Column: 1}
}

func (d *dxf) broken(line int, problem, mend string) error {
	return fault.List{{Origin: d.origin(line), Problem: problem, Mend: mend}}
}

// row reads one line of text, which is short in a sound file.
func (d *dxf) row() (string, error) {
	text, err := d.in.ReadSlice('\n')
	if len(text) > 0 {
		d.line++
	}
	if err == bufio.ErrBufferFull {
		return "", d.broken(d.line, "the line is far too long", "save it as an ASCII DXF file")
	}
	if err != nil && len(text) == 0 {
		return "", err
	}
	return string(bytes.TrimRight(text, "\r\n")), nil
}

// next reads a group.
func (d *dxf) next() (spoken, error) {
	text, err := d.row()
	if err != nil {
		return spoken{}, err
	}
	at := d.line
	if strings.HasPrefix(text, "AutoCAD Binary DXF") {
		return spoken{}, d.broken(at, "it is a binary DXF file", "save it as an ASCII DXF file")
	}
	if at == 1 && strings.HasPrefix(text, "AC10") {
		return spoken{}, d.broken(at, "it is a DWG file, not a DXF file", "save it as an ASCII DXF file")
	}
	if at == 1 {
		text = strings.TrimPrefix(text, "\ufeff")
	}
	code, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil {
		return spoken{}, d.broken(at, fmt.Sprintf("%.30q is no group code: in a DXF file every other line is a whole number", text), "save it anew as an ASCII DXF file")
	}
	value, err := d.row()
	if err != nil {
		if err == io.EOF {
			return spoken{}, d.broken(at, "the file ends after a group code, without its value", "save it anew, or fetch it again")
		}
		return spoken{}, err
	}
	g := spoken{group: group{code: code}}
	if numeric(code) {
		v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return spoken{}, d.broken(at+1, fmt.Sprintf("%.30q is no number, as group %d asks for", value, code), "save it anew")
		}
		g.value = v
	} else if code < 10 {
		g.text = strings.TrimSpace(value)
	}
	return g, nil
}

// numeric says whether groups of that code are numbers that are read here.
func numeric(code int) bool {
	return code >= 10 && code <= 79 || code >= 210 && code <= 239
}

// read reads the sections.
func (d *dxf) read() error {
	g, err := d.next()
	for {
		if err == io.EOF {
			if d.line == 0 {
				return d.broken(1, "the file is empty", "save it anew")
			}
			return d.broken(d.line, "the file ends without EOF", "save it anew, or fetch it again")
		}
		if err != nil {
			return err
		}
		if g.code == 0 && g.text == "EOF" {
			return nil
		}
		if g.code == 999 { // a remark
			g, err = d.next()
			continue
		}
		if g.code != 0 || g.text != "SECTION" {
			return d.broken(d.line, "a section should begin here", "save it anew as an ASCII DXF file")
		}
		if g, err = d.next(); err != nil {
			continue
		}
		switch {
		case g.code == 2 && g.text == "HEADER":
			err = d.header()
		case g.code == 2 && g.text == "TABLES":
			err = d.layers()
		case g.code == 2 && g.text == "BLOCKS":
			err = d.blockSection()
		case g.code == 2 && g.text == "ENTITIES":
			d.entities, _, err = d.entitiesUntil(d.entities, "ENDSEC")
		default:
			err = d.skipSection()
		}
		if err == nil {
			g, err = d.next()
		}
	}
}

func (d *dxf) skipSection() error {
	for {
		g, err := d.next()
		if err != nil {
			return err
		}
		if g.code == 0 && g.text == "ENDSEC" {
			return nil
		}
	}
}

func (d *dxf) header() error {
	variable := ""
	for {
		g, err := d.next()
		switch {
		case err != nil:
			return err
		case g.code == 0 && g.text == "ENDSEC":
			return nil
		case g.code == 9:
			variable = g.text
		case g.code == 70 && variable == "$INSUNITS":
			d.insunits = int(max(min(g.value, 1000), -1))
		case g.code == 70 && variable == "$MEASUREMENT":
			d.measurement = int(max(min(g.value, 1000), -1))
		}
	}
}

// layers notes the layers that are off (colour below 0) or frozen (flag 1).
func (d *dxf) layers() error {
	kind, name, hidden := "", "", false
	keep := func() {
		if kind == "LAYER" && hidden && len(d.off) < MaxLines {
			d.off[strings.ToUpper(name)] = true
		}
	}
	for {
		g, err := d.next()
		switch {
		case err != nil:
			return err
		case g.code == 0:
			keep()
			kind, name, hidden = g.text, "", false
			if g.text == "ENDSEC" {
				return nil
			}
		case g.code == 2:
			name = g.text
		case g.code == 70 && int64(g.value)&1 != 0, g.code == 62 && g.value < 0:
			hidden = true
		}
	}
}

func (d *dxf) blockSection() error {
	for {
		g, err := d.next()
		if err != nil {
			return err
		}
		if g.code != 0 {
			continue
		}
		switch g.text {
		case "ENDSEC":
			return nil
		case "BLOCK":
			name, b := "", &block{}
			var ended string
			if g, err = d.next(); err != nil {
				return err
			}
			for ; g.code != 0; g, err = d.next() {
				if err != nil {
					return err
				}
				switch g.code {
				case 2:
					name = g.text
				case 10:
					b.base.X = g.value
				case 20:
					b.base.Y = g.value
				}
			}
			if err != nil {
				return err
			}
			b.entities, ended, err = d.entitiesFrom(g, nil, "ENDBLK", "ENDSEC")
			if err != nil {
				return err
			}
			d.blocks[strings.ToUpper(name)] = b
			if ended == "ENDSEC" {
				return nil
			}
		}
	}
}

func (d *dxf) entitiesUntil(to []entity, ends ...string) ([]entity, string, error) {
	g, err := d.next()
	for err == nil && g.code != 0 {
		g, err = d.next()
	}
	if err != nil {
		return nil, "", err
	}
	return d.entitiesFrom(g, to, ends...)
}

// entitiesFrom reads entities, the first of which begins with g.
func (d *dxf) entitiesFrom(g spoken, to []entity, ends ...string) ([]entity, string, error) {
	inPolyline := false
	for {
		for _, end := range ends {
			if g.text == end {
				return to, end, nil
			}
		}
		e := entity{kind: strings.ToUpper(g.text), line: d.line}
		keep := readable[e.kind] || e.kind == "VERTEX"
		if keep {
			d.held += 8 // what an entity takes by itself, in groups
		}
		space := 0.0
		var err error
		for {
			if g, err = d.next(); err != nil {
				if err == io.EOF {
					err = d.broken(d.line, "the file ends before its entities do", "save it anew, or fetch it again")
				}
				return nil, "", err
			}
			if g.code == 0 {
				break
			}
			switch {
			case g.code == 8:
				e.layer = g.text
			case g.code == 60 && g.value == 1:
				keep = false
				d.hidden++
			case g.code == 67:
				space = g.value
			case keep && g.code == 2:
				e.block = g.text
			case keep && numeric(g.code):
				d.held++
				e.groups = append(e.groups, g.group)
			}
			if d.held > maxHeld {
				return nil, "", d.broken(d.line, "the drawing holds too many numbers", "save only the edge")
			}
		}
		switch {
		case e.kind == "SEQEND":
			inPolyline = false
		case space == 1:
			d.left["on paper, not in the model"]++
			inPolyline = false
		case e.kind == "VERTEX":
			if n := len(to); inPolyline && n > 0 {
				to[n-1].vertex = append(to[n-1].vertex, e)
			}
		case !readable[e.kind]:
			if len(d.left) < 100 {
				d.left[fmt.Sprintf("%.20s", e.kind)]++
			}
			inPolyline = false
		case keep:
			to = append(to, e)
			inPolyline = e.kind == "POLYLINE"
			if len(to) > MaxLines {
				return nil, "", d.broken(e.line, fmt.Sprintf("it has more than %d entities", MaxLines), "save only the edge")
			}
		default:
			inPolyline = false
		}
	}
}

// Lengths of the units that $INSUNITS names, mm (DXF reference).
var insunits = map[int]float64{1: 25.4, 2: 304.8, 4: 1, 5: 10, 6: 1000, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 11: 1e-7, 12: 1e-6, 13: 0.001, 14: 100}

// unit returns the mm of one unit of the drawing.
func (d *dxf) unit(given float64) float64 {
	if given > 0 {
		return given
	}
	if unit, ok := insunits[d.insunits]; ok {
		return unit
	}
	at := fault.Origin{File: d.file}
	if d.measurement == 0 && d.insunits < 0 {
		d.remark(at, "The drawing does not name its unit and is marked as an English one: its unit is taken as the inch. If the size is wrong, give the length of one unit.")
		return 25.4
	}
	d.remark(at, "The drawing does not name its unit: it is taken as 1 mm. If the size is wrong, give the length of one unit.")
	return 1
}

// leftOut tells what was not read.
func (d *dxf) leftOut() {
	if d.hidden > 0 {
		d.remark(fault.Origin{File: d.file}, fmt.Sprintf("%d entities are hidden, or lie on a layer that is off or frozen; they were left out.", d.hidden))
	}
	if len(d.left) > 0 {
		d.remark(fault.Origin{File: d.file}, "Left out, for they are no lines: "+counted(d.left)+".")
	}
}
