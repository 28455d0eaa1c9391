package table

import (
	"fmt"
	"slices"
	"strings"
)

// names lists the columns of a layout for a message: "x, y, z".
func (l Layout) names() string {
	var names []string
	for _, c := range l {
		if !c.Optional {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, ", ")
}

// find returns the column of that name, or −1.
func (l Layout) find(name string) int {
	return slices.IndexFunc(l, func(c Column) bool {
		return strings.EqualFold(c.Name, name) || slices.ContainsFunc(c.Also, func(s string) bool { return strings.EqualFold(s, name) })
	})
}

// header takes the columns from their names: "x mm", "z (um)", "angle [deg]",
// "r/mm", "z_um". Columns that no layout asks for are left alone.
func (d *reader) header(text string) {
	d.table.Header = true
	type heading struct {
		field
		name, unit string
	}
	headings := make([]heading, len(d.fields))
	for i, f := range d.fields {
		name, unit := d.heading(f.text)
		headings[i] = heading{f, name, unit}
	}
	// The layout whose columns are all there, or else the one with the fewest
	// missing, which is then reported.
	best, fewest := 0, -1
	complete := 0
	for k, l := range d.layouts {
		missing, found := 0, 0
		for _, c := range l {
			there := slices.ContainsFunc(headings, func(h heading) bool { return (Layout{c}).find(h.name) == 0 })
			if there {
				found++
			} else if !c.Optional {
				missing++
			}
		}
		if missing == 0 {
			complete++
		}
		if rank := missing*100 - found; fewest < 0 && k == 0 || rank < fewest {
			best, fewest = k, rank
		}
	}
	d.choose(best)
	layout := d.layout()
	if complete > 1 {
		d.addLine(1, text, fmt.Sprintf("the header names both %s and %s", d.layouts[0].names(), d.layouts[1].names()), "keep the columns of one of them")
	}
	for i, h := range headings {
		k := layout.find(h.name)
		if k < 0 {
			continue
		}
		c := layout[k]
		if d.wanted[k] >= 0 {
			d.addLine(h.column, text, fmt.Sprintf("%s is named twice", c.Name), "keep one of the two columns")
			continue
		}
		d.wanted[k] = i
		d.table.Has[k] = true
		if h.unit == "" || c.Kind == Word {
			continue
		}
		if _, ok := Unit(h.unit, c.Kind); !ok {
			d.addLine(h.column, text, fmt.Sprintf("%s is %s, and %q is no unit of one", c.Name, c.Kind, h.unit), "one of "+unitNames(c.Kind))
			d.size[k] = 1
			continue
		}
		d.setUnit(k, h.unit)
	}
	for k, c := range layout {
		if d.wanted[k] < 0 && !c.Optional {
			var all []string
			for _, l := range d.layouts {
				all = append(all, l.names())
			}
			d.addLine(1, text, fmt.Sprintf("the header names no column %s", c.Name), "the columns are "+strings.Join(all, ", or "))
		}
	}
}

// heading divides a heading into the column's name and its unit. The name may
// itself hold blanks or dashes where a layout's does.
func (d *reader) heading(text string) (name, unit string) {
	text = strings.TrimSpace(text)
	for _, l := range d.layouts {
		if l.find(text) >= 0 {
			return text, ""
		}
	}
	cut := strings.LastIndexAny(text, " _([/")
	if cut <= 0 {
		return text, ""
	}
	unit = strings.Trim(text[cut+1:], " )]")
	name = strings.TrimRight(text[:cut], " _([/")
	return name, unit
}

// unitRow takes a line under the header that holds units alone.
func (d *reader) unitRow() bool {
	some := false
	for _, f := range d.fields {
		text := strings.Trim(f.text, "()[] ")
		if text == "" {
			continue
		}
		if find(text) == nil {
			return false
		}
		some = true
	}
	if !some {
		return false
	}
	for i, c := range d.layout() {
		at := d.wanted[i]
		if at < 0 || at >= len(d.fields) || c.Kind == Word {
			continue
		}
		unit := strings.Trim(d.fields[at].text, "()[] ")
		if unit == "" {
			continue
		}
		if _, ok := Unit(unit, c.Kind); !ok {
			d.add(d.fields[at].column, c.Name, fmt.Sprintf("it is %s, and %q is no unit of one", c.Kind, unit), "one of "+unitNames(c.Kind))
			continue
		}
		d.setUnit(i, unit)
	}
	return true
}
