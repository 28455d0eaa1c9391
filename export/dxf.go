package export

import (
	"fmt"
	"io"
	"strconv"
)

// DXFVersion is the version of the drawing interchange format.
type DXFVersion int

// The versions that are written.
const (
	R12     DXFVersion = 12   // AC1009: POLYLINE, read by everything
	DXF2000 DXFVersion = 2000 // AC1015: LWPOLYLINE, units of the drawing
)

const (
	dxfDecimals   = 6
	bulgeDecimals = 15 // the height of an arc is half its chord times its bulge
)

// DXF writes the figure as a DXF drawing in millimetres, seen from above, with a
// layer for each of its own and arcs as the bulges of polylines.
// (Groups and sections after Autodesk's DXF reference, from memory; held by an
// audit of the tests.)
func DXF(w io.Writer, f Figure, v DXFVersion) (Summary, error) {
	format := "DXF R12"
	if v == DXF2000 {
		format = "DXF 2000"
	} else if v != R12 {
		panic("export: DXF of a version that is neither R12 nor DXF2000")
	}
	s, err := f.measure(format)
	if err != nil {
		return s, err
	}
	d := &dxf{out: newOut(w), handle: 0x100}
	d.group(999, "Brightcut: "+ascii(f.Name, ""))
	d.header(v, s, d.handle+uint64(s.Counts["lines"]))
	if v == R12 {
		d.tables12(f.Layers)
	} else {
		d.tables2000(f.Layers)
	}
	d.group(0, "SECTION")
	d.group(2, "ENTITIES")
	for l := range f.Lines {
		if v == R12 {
			d.polyline(l)
		} else {
			d.lwpolyline(l)
		}
	}
	d.group(0, "ENDSEC")
	if v == DXF2000 {
		d.section("OBJECTS", "0|DICTIONARY|5|C|330|0|100|AcDbDictionary|281|1|3|ACAD_GROUP|350|D|0|DICTIONARY|5|D|330|C|100|AcDbDictionary|281|1")
	}
	d.group(0, "EOF")
	if err := d.end(); err != nil {
		return s, fmt.Errorf("export: writing %s of %q: %w", format, f.Name, err)
	}
	return s, nil
}

type dxf struct {
	*out
	handle uint64 // of the next line
}

func (d *dxf) group(code int, value string) {
	d.put(strconv.Itoa(code), "\n", value, "\n")
}

func (d *dxf) real(code int, x float64, decimals int) {
	d.put(strconv.Itoa(code), "\n")
	d.buf = appendNum(d.buf[:0], x, decimals)
	d.w.Write(d.buf)
	d.put("\n")
}

func (d *dxf) point(code int, x, y float64) {
	d.real(code, x, dxfDecimals)
	d.real(code+10, y, dxfDecimals)
}

// groups writes codes and values that stand between bars.
func (d *dxf) groups(text string) {
	for i, begin := 0, 0; i <= len(text); i++ {
		if i == len(text) || text[i] == '|' {
			d.put(text[begin:i], "\n")
			begin = i + 1
		}
	}
}

func (d *dxf) section(name, text string) {
	d.group(0, "SECTION")
	d.group(2, name)
	if text != "" {
		d.groups(text)
	}
	d.group(0, "ENDSEC")
}

func (d *dxf) header(v DXFVersion, s Summary, seed uint64) {
	d.group(0, "SECTION")
	d.group(2, "HEADER")
	d.group(9, "$ACADVER")
	if v == R12 {
		d.group(1, "AC1009")
	} else {
		d.group(1, "AC1015")
		d.groups("9|$DWGCODEPAGE|3|ANSI_1252")
		d.group(9, "$HANDSEED")
		d.group(5, strconv.FormatUint(seed, 16))
		d.groups("9|$INSUNITS|70|4") // millimetres
		d.groups("9|$MEASUREMENT|70|1")
	}
	box := s.box()
	for _, e := range []struct {
		name string
		x, y float64
	}{{"$EXTMIN", box.Min.X, box.Min.Y}, {"$EXTMAX", box.Max.X, box.Max.Y}} {
		d.group(9, e.name)
		d.point(10, e.x, e.y)
		d.real(30, 0, 1)
	}
	d.group(0, "ENDSEC")
}

// dxfColour is the colour number of a layer: 7 is black on white, then red, blue,
// green, magenta, cyan, yellow.
func dxfColour(i int) int { return []int{7, 1, 5, 3, 6, 4, 2}[i%7] }

func (d *dxf) tables12(layers []string) {
	d.group(0, "SECTION")
	d.group(2, "TABLES")
	d.groups("0|TABLE|2|LTYPE|70|1|0|LTYPE|2|CONTINUOUS|70|0|3|Solid line|72|65|73|0|40|0.0|0|ENDTAB")
	d.group(0, "TABLE")
	d.group(2, "LAYER")
	d.group(70, strconv.Itoa(len(layers)+1))
	for i, l := range append([]string{"0"}, layers...) {
		d.groups("0|LAYER|2|" + l + "|70|0|62|" + strconv.Itoa(dxfColour(max(0, i-1))) + "|6|CONTINUOUS")
	}
	d.group(0, "ENDTAB")
	d.group(0, "ENDSEC")
}

func (d *dxf) tables2000(layers []string) {
	d.section("CLASSES", "")
	d.group(0, "SECTION")
	d.group(2, "TABLES")
	table := func(name, handle string, count int) {
		d.groups("0|TABLE|2|" + name + "|5|" + handle + "|330|0|100|AcDbSymbolTable|70|" + strconv.Itoa(count))
	}
	table("VPORT", "1", 0)
	d.group(0, "ENDTAB")
	table("LTYPE", "2", 3)
	for i, name := range []string{"ByBlock", "ByLayer", "Continuous"} {
		d.groups("0|LTYPE|5|1" + strconv.Itoa(i) + "|330|2|100|AcDbSymbolTableRecord|100|AcDbLinetypeTableRecord|2|" + name + "|70|0|3||72|65|73|0|40|0.0")
	}
	d.group(0, "ENDTAB")
	table("LAYER", "3", len(layers)+1)
	for i, l := range append([]string{"0"}, layers...) {
		d.groups("0|LAYER|5|" + strconv.FormatInt(int64(0x20+i), 16) + "|330|3|100|AcDbSymbolTableRecord|100|AcDbLayerTableRecord|2|" + l +
			"|70|0|62|" + strconv.Itoa(dxfColour(max(0, i-1))) + "|6|Continuous|370|-3|390|F")
	}
	d.group(0, "ENDTAB")
	table("STYLE", "4", 1)
	d.groups("0|STYLE|5|40|330|4|100|AcDbSymbolTableRecord|100|AcDbTextStyleTableRecord|2|Standard|70|0|40|0.0|41|1.0|50|0.0|71|0|42|2.5|3|txt|4|")
	d.group(0, "ENDTAB")
	table("VIEW", "5", 0)
	d.group(0, "ENDTAB")
	table("UCS", "6", 0)
	d.group(0, "ENDTAB")
	table("APPID", "7", 1)
	d.groups("0|APPID|5|41|330|7|100|AcDbSymbolTableRecord|100|AcDbRegAppTableRecord|2|ACAD|70|0")
	d.group(0, "ENDTAB")
	table("DIMSTYLE", "8", 1)
	d.groups("100|AcDbDimStyleTable|0|DIMSTYLE|105|42|330|8|100|AcDbSymbolTableRecord|100|AcDbDimStyleTableRecord|2|Standard|70|0")
	d.group(0, "ENDTAB")
	table("BLOCK_RECORD", "9", 2)
	for _, b := range []string{"1F|*Model_Space", "1E|*Paper_Space"} {
		d.groups("0|BLOCK_RECORD|5|" + b[:2] + "|330|9|100|AcDbSymbolTableRecord|100|AcDbBlockTableRecord|2|" + b[3:] + "|340|0")
	}
	d.group(0, "ENDTAB")
	d.group(0, "ENDSEC")
	d.group(0, "SECTION")
	d.group(2, "BLOCKS")
	for _, b := range [][4]string{{"*Model_Space", "1F", "50", "51"}, {"*Paper_Space", "1E", "52", "53"}} {
		d.groups("0|BLOCK|5|" + b[2] + "|330|" + b[1] + "|100|AcDbEntity|8|0|100|AcDbBlockBegin|2|" + b[0] + "|70|0|10|0.0|20|0.0|30|0.0|3|" + b[0] + "|1|" +
			"|0|ENDBLK|5|" + b[3] + "|330|" + b[1] + "|100|AcDbEntity|8|0|100|AcDbBlockEnd")
	}
	d.group(0, "ENDSEC")
}

// polyline is an R12 POLYLINE with its VERTEX entities.
func (d *dxf) polyline(l Line) {
	d.groups("0|POLYLINE|8|" + l.Layer + "|66|1")
	d.point(10, 0, 0)
	d.real(30, 0, 1)
	d.group(70, closedFlag(l))
	for i, n := range l.Nodes {
		d.groups("0|VERTEX|8|" + l.Layer)
		d.point(10, n.X, n.Y)
		d.real(30, 0, 1)
		d.bulge(l, i)
	}
	d.groups("0|SEQEND|8|" + l.Layer)
}

func (d *dxf) lwpolyline(l Line) {
	d.group(0, "LWPOLYLINE")
	d.group(5, strconv.FormatUint(d.handle, 16))
	d.handle++
	d.groups("330|1F|100|AcDbEntity|8|" + l.Layer + "|100|AcDbPolyline")
	d.group(90, strconv.Itoa(len(l.Nodes)))
	d.group(70, closedFlag(l))
	for i, n := range l.Nodes {
		d.point(10, n.X, n.Y)
		d.bulge(l, i)
	}
}

func (d *dxf) bulge(l Line, i int) {
	if b := l.Nodes[i].Bulge; b != 0 && (l.Closed || i < len(l.Nodes)-1) {
		d.real(42, b, bulgeDecimals)
	}
}

func closedFlag(l Line) string {
	if l.Closed {
		return "1"
	}
	return "0"
}
