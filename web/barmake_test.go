package web

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// A drawing that is dropped is told, with the lines to choose from; taken, it is a
// part of its own and the job's bar.
func TestTraceBar(t *testing.T) {
	b := newBench(t)
	drawing := b.file("drawings/worn-wave.svg")
	v := b.job("barleycorn")
	ask := func(status int, query, body string, out any) {
		t.Helper()
		res, text := b.do("POST", "/api/jobs/barleycorn/bar/trace?"+query, strings.NewReader(body), "Content-Type", "application/octet-stream")
		if res.StatusCode != status {
			t.Fatalf("%d, not %d: %.400s", res.StatusCode, status, text)
		}
		if err := json.Unmarshal(text, out); err != nil {
			t.Fatal(err)
		}
	}
	var told tracedView
	ask(200, "filename=worn-wave.svg", drawing, &told)
	if told.Rosette || told.Unit != "mm" || told.Wave != 8 || len(told.Points) < 20 || len(told.Lines) != 1 || told.Lines[0].Names[0] != "edge" || len(told.Remarks) == 0 {
		t.Errorf("%+v", told)
	}
	if b.job("barleycorn").Revision != v.Revision {
		t.Error("looking at a drawing changed the job")
	}
	var after view
	ask(200, "filename=worn-wave.svg&take=Worn+wave&if_revision="+v.Revision, drawing, &after)
	if !strings.Contains(after.Text, "bar: worn-wave") || len(after.Faults) > 0 || !strings.HasPrefix(b.file("bars/worn-wave.yaml"), "# Traced from worn-wave.svg.\n") {
		t.Errorf("%v\n%s\n%.300s", after.Faults, after.Text, b.file("bars/worn-wave.yaml"))
	}
	var p problem
	ask(409, "filename=worn-wave.svg&take=Worn+wave&if_revision="+after.Revision, drawing, &p)
	if p.Type != "/problems/exists" || b.job("barleycorn").Revision != after.Revision {
		t.Errorf("%+v", p)
	}
	ask(422, "filename=back.svg", `<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="10mm" viewBox="0 0 40 10"><path d="M0 5 L20 3 L15 7 L40 5"/></svg>`, &p)
	if len(p.Faults) == 0 || p.Faults[0].Mend == "" {
		t.Errorf("an edge that doubles back: %+v", p)
	}
	ask(422, "filename=x.svg", `<!DOCTYPE svg [<!ENTITY a "b">]><svg/>`, &p)
	ask(422, "filename=x.png", "\x89PNG\r\n\x1a\nnothing more", &p)
	ask(400, "filename=x.png&marks=1,2", drawing, &p)
}

// The edge for a path: where it cannot be had is told, and what can is taken.
func TestBarInverse(t *testing.T) {
	b := newBench(t)
	var v inverseView
	b.want(200, "POST", "/api/jobs/barleycorn/bar/inverse", m{"tool_mm": 0.2}, &v)
	if !v.Possible || v.FallUM != 0 || len(v.At) != 600 || v.DepartureUM == nil || v.SmallestHollowMM == nil || *v.SmallestHollowMM < 1.2 {
		t.Errorf("%+v", v)
	}
	for i := range v.At {
		if d := v.PathMM[i] - v.WantedMM[i]; d > 0.002 || d < -0.002 {
			t.Fatalf("at %v the path is %v, wanted %v", v.At[i], v.PathMM[i], v.WantedMM[i])
		}
	}
	b.want(200, "POST", "/api/jobs/steep-zigzag/bar/inverse", m{"touch_mm": 0.5}, &v)
	if v.Possible || v.FallUM <= 0 || len(v.Missed) == 0 || v.NearestOffUM <= 0 {
		t.Errorf("a zigzag sharper than the nose: %+v", v)
	}
	j := b.job("barleycorn")
	var after view
	b.want(200, "POST", "/api/jobs/barleycorn/bar/inverse", m{"take": "Made for it", "if_revision": j.Revision}, &after)
	if !strings.Contains(after.Text, "bar: made-for-it") || len(after.Faults) > 0 {
		t.Errorf("%v\n%s", after.Faults, after.Text)
	}
	b.problem(422, "faults", "POST", "/api/jobs/barleycorn/bar/inverse", m{"touch_mm": -1})
}

func TestExportRoutes(t *testing.T) {
	b := newBench(t)
	for file, begins := range map[string]string{
		"cuts.svg": "<?xml", "cuts.dxf?dxf=r12": "999\n", "cuts.csv": "cut", "places.csv": "cut", "cuts.ngc": "(", "cuts.pdf": "%PDF", "cuts.png": "\x89PNG",
		"surface.stl?window=-0.2,-0.2,0.2,0.2&tolerance=0.02": "", "surface.3mf?window=-0.2,-0.2,0.2,0.2&tolerance=0.02": "PK", "bar.svg": "<?xml", "bar.stl": "", "bar.ngc?cutter=0.8": "(",
	} {
		res, text := b.do("GET", "/api/jobs/barleycorn/export/"+file, nil)
		name, _, _ := strings.Cut(file, "?")
		if res.StatusCode != 200 || !bytes.HasPrefix(bytes.TrimLeft(text, " "), []byte(begins)) && !strings.HasSuffix(name, ".ngc") || len(text) < 80 {
			t.Errorf("%s: %d, %.120q", file, res.StatusCode, text)
			continue
		}
		if d := res.Header.Get("Content-Disposition"); !strings.Contains(d, "barleycorn-"+name) {
			t.Errorf("%s comes as %s", file, d)
		}
		if strings.HasSuffix(name, ".svg") {
			for d := xml.NewDecoder(bytes.NewReader(text)); ; {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Fatalf("%s: %v", file, err)
				}
			}
		}
	}
	b.problem(404, "not-found", "GET", "/api/jobs/barleycorn/export/cuts.stl", nil)
	b.problem(404, "not-found", "GET", "/api/jobs/barleycorn/export/secrets", nil)
	b.problem(404, "not-found", "GET", "/api/jobs/sunburst/export/bar.svg", nil)
	b.problem(400, "request", "GET", "/api/jobs/barleycorn/export/surface.stl?window=1,2", nil)
	b.problem(422, "faults", "GET", "/api/jobs/barleycorn/export/bar.svg?back=0.01", nil)
}
