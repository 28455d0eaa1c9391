package table

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strings"
	"unicode/utf8"

	"brightcut/fault"
)

// The limits of a file. A dial read every tenth of a millimetre over a 100 mm
// square is a million readings.
const (
	MaxBytes = 64 << 20
	MaxRows  = 2_000_000
	MaxLine  = 64 << 10
)

// Column is one column that a layout asks for.
type Column struct {
	Name     string   // in a header, and in messages
	Also     []string // other names a header may use
	Kind     Kind
	Unit     string // unit when the header gives none; "" demands one
	Optional bool   // may be missing, from the header or at the end of a line
}

// Layout is a set of columns, in the order they stand in without a header.
type Layout []Column

// Table is a file, read.
type Table struct {
	Name   string
	Layout int         // which of the layouts the file has
	Has    []bool      // by column of the layout: the file has it
	Values [][]float64 // by column of the layout, then by row; mm, rad, N; NaN where an optional field is empty
	Words  [][]string  // by column of the layout, for Word columns
	Lines  []int32     // the line of each row
	Header bool
	Units  []string // by column: the unit that was read, "" for words
}

// Rows returns the number of rows.
func (t *Table) Rows() int { return len(t.Lines) }

// Origin returns the place of a row.
func (t *Table) Origin(row int) fault.Origin {
	return fault.Origin{File: t.Name, Line: int(t.Lines[row]), Column: 1}
}

// Read reads a file in one of the layouts: the one whose columns its header
// names or, without a header, the first. The error is a fault.List for what is
// wrong in the file, or tells why it could not be read.
func Read(r io.Reader, name string, layouts ...Layout) (*Table, error) {
	if err := refuse(r, name); err != nil {
		return nil, err
	}
	d := &reader{name: name, layouts: layouts, table: &Table{Name: name}}
	return d.read(r)
}

// refuse turns a file away by its size or kind before a byte of it is read.
func refuse(r io.Reader, name string) error {
	size := int64(-1)
	switch s := r.(type) {
	case interface{ Stat() (fs.FileInfo, error) }:
		info, err := s.Stat()
		if err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		if info.IsDir() {
			return fault.List{{Origin: fault.Origin{File: name}, Problem: "it is a folder", Mend: "name a file of readings in it"}}
		}
		if info.Mode().IsRegular() {
			size = info.Size()
		}
	case interface{ Len() int }:
		size = int64(s.Len())
	}
	if size > MaxBytes {
		return tooLarge(name, fmt.Sprintf("it holds %d MiB; at most %d MiB are read", size>>20, MaxBytes>>20))
	}
	return nil
}

func tooLarge(name, problem string) error {
	return fault.List{{Origin: fault.Origin{File: name}, Problem: problem,
		Mend: "thin the readings out: a few hundred tell a blank's form"}}
}

// reader is the state of one reading.
type reader struct {
	name    string
	layouts []Layout
	table   *Table
	faults  Faults
	line    int
	comma   bool // decimal commas have been seen …
	point   int  // … or decimal points, on this line
	between byte // what separates fields: , ; tab or blank
	wanted  []int
	size    []float64
	fields  []field
	started bool
	units   bool // the line after the header may still give the units
}

// lookAhead is how many lines with something on them settle the separator.
const lookAhead = 40

func (d *reader) read(r io.Reader) (*Table, error) {
	in := bufio.NewReaderSize(&counted{from: r, name: d.name}, MaxLine)
	type kept struct {
		line int
		text string
	}
	var first []kept
	flush := func() {
		texts := make([]string, len(first))
		for i, k := range first {
			texts[i] = k.text
		}
		d.between = separator(texts)
		end := d.line
		for _, k := range first {
			d.line = k.line
			d.row(k.text)
		}
		d.line, first, d.started = end, nil, true
	}
	for {
		raw, err := in.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			d.add(1, "", fmt.Sprintf("the line is longer than %d KiB", MaxLine>>10), "write one reading a line")
			return nil, d.faults.List()
		}
		if err != nil && err != io.EOF {
			var list fault.List
			if errors.As(err, &list) {
				return nil, list
			}
			return nil, fmt.Errorf("reading %s: %w", d.name, err)
		}
		if len(raw) > 0 {
			d.line++
			text, ok := d.text(raw)
			switch {
			case !ok:
				return nil, d.faults.List()
			case text == "":
			case d.started:
				d.row(text)
			default:
				if first = append(first, kept{d.line, text}); len(first) == lookAhead {
					flush()
				}
			}
			if d.table.Rows() > MaxRows {
				return nil, tooLarge(d.name, fmt.Sprintf("it has more than %d rows", MaxRows))
			}
		}
		if err == io.EOF {
			break
		}
	}
	if !d.started {
		flush()
	}
	if d.table.Rows() == 0 && !d.faults.Any() {
		d.faults.Add(fault.Fault{Origin: fault.Origin{File: d.name}, Problem: "there are no readings in it",
			Mend: "write one reading a line: " + d.layouts[0].names()})
	}
	if d.faults.Any() {
		return nil, d.faults.List()
	}
	return d.table, nil
}

// text returns what stands on a line, without its end, a byte order mark and
// remarks; "" when that is nothing. It gives up on what is no text at all.
func (d *reader) text(raw []byte) (string, bool) {
	raw = bytes.TrimRight(raw, "\r\n")
	if d.line == 1 {
		raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
		if bytes.HasPrefix(raw, []byte{0xff, 0xfe}) || bytes.HasPrefix(raw, []byte{0xfe, 0xff}) {
			d.faults.Add(fault.Fault{Origin: fault.Origin{File: d.name}, Problem: "it is written in UTF-16",
				Mend: "save it as UTF-8 or plain text"})
			return "", false
		}
	}
	if i := bytes.IndexByte(raw, 0); i >= 0 {
		d.add(i+1, "", "there is a zero byte: this is not a text file", "export the readings as CSV")
		return "", false
	}
	if i := bytes.IndexByte(raw, '\r'); i >= 0 {
		d.add(i+1, "", "lines end in carriage returns alone", "save the file with the line ends of today")
		return "", false
	}
	text := string(raw)
	if !utf8.ValidString(text) {
		// Older programs write µ and ° as one byte of Latin-1.
		runes := make([]rune, len(raw))
		for i, b := range raw {
			runes[i] = rune(b)
		}
		text = string(runes)
	}
	if trimmed := strings.TrimSpace(text); trimmed == "" || trimmed[0] == '#' {
		return "", true
	}
	return text, true
}

// row takes in one line: the header, the units under it, or a row of values.
func (d *reader) row(text string) {
	var at int
	d.fields, at = split(d.fields[:0], text, d.between)
	if at > 0 {
		d.addLine(at, text, "a quotation mark has no partner on this line", "close the quotation, or leave the marks away")
		return
	}
	if len(d.fields) == 0 {
		return
	}
	if d.wanted == nil {
		if isHeader(d.fields, d.between) {
			d.header(text)
			d.units = true
			return
		}
		d.positions()
	}
	if d.units {
		d.units = false
		if d.unitRow() {
			return
		}
	}
	d.demandUnits(text)
	d.values(text)
}

// positions takes the columns of the first layout in their order.
func (d *reader) positions() {
	d.choose(0)
	for i := range d.layouts[0] {
		d.wanted[i] = i
		d.table.Has[i] = true
	}
}

func (d *reader) choose(layout int) {
	l := d.layouts[layout]
	d.table.Layout = layout
	d.table.Has = make([]bool, len(l))
	d.table.Values = make([][]float64, len(l))
	d.table.Words = make([][]string, len(l))
	d.table.Units = make([]string, len(l))
	d.wanted = make([]int, len(l))
	d.size = make([]float64, len(l))
	for i, c := range l {
		d.wanted[i] = -1
		if c.Kind == Word {
			d.size[i] = 1
		} else if c.Unit != "" {
			d.setUnit(i, c.Unit)
		}
	}
}

// setUnit gives column i its unit; the unit is one of the column's kind.
func (d *reader) setUnit(i int, name string) {
	size, ok := Unit(name, d.layout()[i].Kind)
	if !ok {
		panic(fmt.Sprintf("table: %q is no unit of %v", name, d.layout()[i].Kind))
	}
	d.table.Units[i], d.size[i] = name, size
}

func (d *reader) layout() Layout { return d.layouts[d.table.Layout] }

// demandUnits reports, once, the columns whose unit nobody gave.
func (d *reader) demandUnits(text string) {
	for i, c := range d.layout() {
		if d.size[i] == 0 && d.wanted[i] >= 0 {
			d.size[i] = 1
			if d.table.Header {
				d.addLine(1, text, fmt.Sprintf("the header gives no unit for %s", c.Name),
					fmt.Sprintf("write the unit behind the name, %q: one of %s", c.Name+" "+strings.Split(unitNames(c.Kind), ",")[0], unitNames(c.Kind)))
			} else {
				d.addLine(1, text, fmt.Sprintf("nothing says in which unit %s stands", c.Name),
					fmt.Sprintf("put a header over the columns with the unit behind each name: one of %s", unitNames(c.Kind)))
			}
		}
	}
}

// values takes in one row.
func (d *reader) values(text string) {
	layout := d.layout()
	good := true
	bad := func(column int, field, problem, mend string) {
		good = false
		d.add(column, field, problem, mend)
		if n := len(d.faults.list); d.faults.more == 0 {
			d.faults.list[n-1].Line = text
		}
	}
	if !d.table.Header && len(d.fields) > len(layout) {
		bad(d.fields[len(layout)].column, "", fmt.Sprintf("there are %d columns where %d are due: %s", len(d.fields), len(layout), layout.names()),
			"put a header over the columns to say which is which")
	}
	row := make([]float64, 0, 8)
	for i, c := range layout {
		at := d.wanted[i]
		switch {
		case at < 0:
			row = append(row, math.NaN())
			continue
		case at >= len(d.fields) || d.fields[at].text == "":
			row = append(row, math.NaN())
			if !c.Optional {
				column := utf8.RuneCountInString(text) + 1
				if at < len(d.fields) {
					column = d.fields[at].column
				}
				bad(column, c.Name, "it is missing", fmt.Sprintf("give %s on every line: %s", c.Kind, layout.names()))
			}
			continue
		case c.Kind == Word:
			row = append(row, math.NaN())
			continue
		}
		f := d.fields[at]
		v, problem, mend := d.number(f.text)
		if problem != "" {
			bad(f.column, c.Name, problem, mend)
		} else if v *= d.size[i]; math.IsInf(v, 0) {
			bad(f.column, c.Name, "the number is too large", "check the reading")
		}
		row = append(row, v)
	}
	if !good {
		return
	}
	for i, c := range layout {
		if c.Kind == Word {
			word := ""
			if at := d.wanted[i]; at >= 0 && at < len(d.fields) {
				word = d.fields[at].text
			}
			d.table.Words[i] = append(d.table.Words[i], word)
		} else {
			d.table.Values[i] = append(d.table.Values[i], row[i])
		}
	}
	d.table.Lines = append(d.table.Lines, int32(d.line))
}

func (d *reader) add(column int, field, problem, mend string) {
	d.faults.Add(fault.Fault{Origin: fault.Origin{File: d.name, Line: d.line, Column: column}, Field: field, Problem: problem, Mend: mend})
}

func (d *reader) addLine(column int, text, problem, mend string) {
	d.faults.Add(fault.Fault{Origin: fault.Origin{File: d.name, Line: d.line, Column: column}, Line: text, Problem: problem, Mend: mend})
}

// counted stops a stream that goes on beyond MaxBytes.
type counted struct {
	from io.Reader
	name string
	read int64
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.from.Read(p)
	if c.read += int64(n); c.read > MaxBytes {
		return 0, tooLarge(c.name, fmt.Sprintf("it goes on beyond %d MiB", MaxBytes>>20))
	}
	return n, err
}
