package tracing

import (
	"bytes"
	"image"
	"math"
	"os"
	"testing"
)

// takes takes edges of a drawing in every way: each must be sound or refused with a
// place and a mend; nothing may panic.
func takes(t *testing.T, d *Drawing) {
	points := 0
	for i := range d.Lines {
		points += len(d.Lines[i].Points)
		for _, p := range d.Lines[i].Points {
			if !(math.Abs(p.X) <= farthest && math.Abs(p.Y) <= farthest) {
				t.Fatalf("line %d reaches %v", i, p)
			}
		}
	}
	if points > MaxPoints+len(d.Lines) {
		t.Fatalf("%d points", points)
	}
	if points > 2000 {
		return // sound, and slow under the fuzzer
	}
	for _, take := range []Take{
		{AnySize: true}, {AnySize: true, Under: true, Spline: true, Repeat: Once}, {AnySize: true, Silhouette: true, Tolerance: 0.1},
		{AnySize: true, Rosette: true}, {AnySize: true, Rosette: true, Silhouette: true, Centre: &Point{1, 2}, Count: 3},
	} {
		e, err := d.Edge(take)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an empty fault")
			}
			continue
		}
		if l := e.Edge.Check(); len(l) > 0 {
			t.Fatalf("%+v: %v", take, l)
		}
	}
}

func FuzzSVG(f *testing.F) {
	for _, inner := range []string{
		`<path d="` + sinePath(10, 40, 5, 0.5, 1) + `"/>`,
		`<g transform="rotate(3) skewX(2)"><path d="M0 0h9v9zm1 1c1 2 3 4 5 6s1 2 3 4q1 1 2 0t3 1a5 4 3 0150-2z"/></g>`,
		`<defs><g id="a"><rect width="3" height="4" rx="1"/></g></defs><use href="#a" x="1"/><circle r="5" cx="10" cy="9"/>`,
		`<symbol id="s" viewBox="0 0 1 1"><polyline points="0,0 1 1 2,0"/></symbol><use xlink:href="#s" width="9" height="9"/>`,
		`<svg x="1" width="3" height="4" viewBox="0 0 1 2" preserveAspectRatio="xMaxYMin slice"><ellipse rx="2" ry="1"/></svg>`,
	} {
		f.Add([]byte(page(inner)))
	}
	f.Add([]byte("<!DOCTYPE svg [<!ENTITY a \"b\">]><svg>&a;</svg>"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if d, err := Read(bytes.NewReader(text), "f.svg", Options{Tolerance: 0.1}); err == nil {
			takes(t, d)
		}
	})
}

func FuzzDXF(f *testing.F) {
	for _, name := range []string{"shapes-r12.dxf", "shapes-r2000.dxf"} {
		text, err := os.ReadFile("testdata/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte(groups("0 LWPOLYLINE 70 1 10 0 20 0 42 0.5 10 9 20 1 42 -2 10 5 20 8")))
	f.Add([]byte(groups("0 SPLINE 71 2 40 0 40 0 40 0 40 1 40 1 40 1 41 1 41 2 41 1 10 0 20 0 10 5 20 9 10 9 20 0")))
	f.Add([]byte(groups("0 POLYLINE 70 0 0 VERTEX 10 1 20 1 42 1 0 VERTEX 10 9 20 1 0 SEQEND 0 ELLIPSE 10 0 20 0 11 5 21 1 40 0.5 41 0 42 3")))
	f.Add([]byte("0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n10\n1\n0\nLINE\n11\n9\n0\nENDBLK\n0\nENDSEC\n" + groups("0 INSERT 2 B 70 3 44 9 50 20 41 -2")))
	f.Fuzz(func(t *testing.T, text []byte) {
		if d, err := Read(bytes.NewReader(text), "f.dxf", Options{Tolerance: 0.1}); err == nil {
			takes(t, d)
		}
	})
}

func FuzzTable(f *testing.F) {
	f.Add([]byte("x,y\n0,0\n1,2\n3,1\n"))
	f.Add([]byte("angle deg;radius in\n0;1\n120;1,1\n240;1\n360;1\n"))
	f.Add([]byte("y mm,height um\n0,0\n10,500\n20,0\n30,900\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if d, err := Read(bytes.NewReader(text), "f.csv", Options{Radius: 20}); err == nil {
			takes(t, d)
		}
	})
}

func FuzzPhoto(f *testing.F) {
	m := photographed(scene(60, 40, func(x float64) (float64, float64) { return 20 + 3*math.Sin(x/5), 36 }), 1, 0.01, 1)
	for _, format := range []string{"png", "jpg", "tif"} {
		f.Add([]byte(encoded(f, format, m)), 0.0, uint8(0))
	}
	f.Add([]byte(encoded(f, "png", image.NewRGBA(image.Rect(0, 0, 20, 9)))), 0.5, uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, threshold float64, how uint8) {
		o := Photo{Marks: [2]Pixel{{1, 1}, {41, 31}}, Distance: 25, Threshold: threshold, Linear: how&1 != 0, Shortest: 1}
		if how&2 != 0 {
			o.Base = &[2]Pixel{{0, 20}, {50, 21}}
		}
		if how&4 != 0 {
			o.Smooth = -1
		}
		if d, err := Read(bytes.NewReader(data), "f", Options{Photo: o}); err == nil {
			takes(t, d)
		}
	})
}
