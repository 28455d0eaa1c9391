package web

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every example comes with sentences, lines of the sequence, and cuts.
func TestEveryExample(t *testing.T) {
	b := newBench(t)
	for _, id := range exampleIDs(t) {
		v := b.job(id)
		if len(v.Faults) > 0 || v.Stale || v.Digest == "" || v.Cuts.Count == 0 || v.Outline == nil || len(v.Sentences) < 6 || len(v.Steps) == 0 {
			t.Errorf("%s: %d faults, stale %v, %d sentences, %d steps", id, len(v.Faults), v.Stale, len(v.Sentences), len(v.Steps))
		}
		if v.Text != b.file(id+".yaml") {
			t.Errorf("%s: the text is not the file's", id)
		}
		values := map[string]string{}
		for _, one := range v.Values {
			values[one.Path] = one.Text
		}
		for _, s := range v.Sentences {
			for _, p := range s.Parts {
				switch {
				case p.Value == nil && p.Text == "":
					t.Errorf("%s: an empty part in %v", id, s)
				case p.Value != nil && p.Field != "" && p.Part == nil && p.Written == nil && !strings.HasPrefix(p.Field, "start.") && p.Field != "index_circle" && p.Kind != "list" && p.Kind != "place" && p.Kind != "part":
					t.Errorf("%s: %s (%s) is written nowhere", id, p.Field, *p.Value)
				case p.Kind == "part" && p.Field != "" && p.Part == nil && len(p.Choices) == 0:
					t.Errorf("%s: nothing to choose for %s", id, p.Field)
				}
			}
		}
	}
}

func TestSet(t *testing.T) {
	b := newBench(t)
	v := b.job("barleycorn")
	before := b.file("barleycorn.yaml")
	var after view
	b.want(200, "POST", "/api/jobs/barleycorn/set", m{"field": "depth", "value": "50 um", "if_revision": v.Revision}, &after)
	want := strings.Replace(before, "depth: 0.045", "depth: 50 um", 1)
	if b.file("barleycorn.yaml") != want || after.Text != want || after.Revision == v.Revision || after.Digest == v.Digest {
		t.Errorf("after the change:\n%s", b.file("barleycorn.yaml"))
	}
	found := false
	for _, s := range after.Sentences {
		for _, p := range s.Parts {
			if p.Field == "depth" {
				found = *p.Value == "50 µm" && *p.Written == "50 um" && p.Kind == "depth"
			}
		}
	}
	if !found {
		t.Error("the sentences do not say 50 µm")
	}
	p := b.problem(409, "conflict", "POST", "/api/jobs/barleycorn/set", m{"field": "depth", "value": "0.04", "if_revision": v.Revision})
	if p.Text == nil || *p.Text != want || p.Revision != after.Revision {
		t.Errorf("the conflict tells %+v", p)
	}
	b.problem(400, "request", "POST", "/api/jobs/barleycorn/set", m{"field": "depth", "value": "0.04"})
	b.problem(422, "request", "POST", "/api/jobs/barleycorn/set", m{"field": "blank", "value": "0.04", "if_revision": after.Revision})
	if b.file("barleycorn.yaml") != want {
		t.Error("a refused change changed the file")
	}
}

// A fault comes at the value that causes it, and the last good piece stays.
func TestFaultAtTheValue(t *testing.T) {
	b := newBench(t)
	v := b.job("barleycorn")
	var broken view
	b.want(200, "POST", "/api/jobs/barleycorn/set", m{"field": "sequence[0].do[1].step", "value": "9 parsecs", "if_revision": v.Revision}, &broken)
	if len(broken.Faults) != 1 || broken.Faults[0].Path != "sequence[0].do[1].step" || broken.Faults[0].Mend == "" || broken.Faults[0].Line != 21 ||
		!broken.Stale || broken.Digest != "" || len(broken.Steps) == 0 || broken.Cuts.Count != 160 {
		t.Errorf("%+v, stale %v", broken.Faults, broken.Stale)
	}
	written := ""
	for _, s := range broken.Steps[0].Do[1].Parts {
		if s.Written != nil {
			written = *s.Written
		}
	}
	if written != "9 parsecs" {
		t.Errorf("the step says %q is written", written)
	}
	p := b.problem(422, "faults", "GET", "/api/jobs/barleycorn/cuts.bin", nil)
	if len(p.Faults) != 1 || p.Faults[0].SourceLine == "" {
		t.Errorf("%+v", p.Faults)
	}
	// A fault in a part's file is told with the path in the job that leads there.
	if err := os.WriteFile(filepath.Join(b.dir, "cutters", "bright-130.yaml"), []byte("name: B\nincluded: 200 deg\nclearance: 15 deg\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	sun := b.job("sunburst")
	if len(sun.Faults) == 0 || sun.Faults[0].Path != "cutter.included" || sun.Faults[0].Field != "included" || sun.Faults[0].File != "cutters/bright-130.yaml" {
		t.Errorf("%+v", sun.Faults)
	}
}

func TestSetInPart(t *testing.T) {
	b := newBench(t)
	v := b.job("barleycorn")
	set := m{"field": "cutter.included", "value": "120 deg", "if_revision": v.Revision}
	p := b.problem(409, "in-part", "POST", "/api/jobs/barleycorn/set", set)
	if p.Part == nil || p.Part.Kind != "cutters" || p.Part.ID != "bright-130" || p.Part.Field != "included" || len(p.Part.UsedBy) < 2 {
		t.Fatalf("%+v", p.Part)
	}
	set["scope"], set["part_name"] = "copy", "Keener than bright"
	var after view
	b.want(200, "POST", "/api/jobs/barleycorn/set", set, &after)
	if after.Cutter.IncludedDeg != 120 || !strings.Contains(after.Text, "\ncutter: keener-than-bright\n") {
		t.Errorf("%+v\n%s", after.Cutter, after.Text)
	}
	if !strings.Contains(b.file("cutters/keener-than-bright.yaml"), "name: Keener than bright") || strings.Contains(b.file("cutters/bright-130.yaml"), "120") {
		t.Error("the parts' files are not as they should be")
	}
	set["if_revision"] = after.Revision
	set["value"], set["field"] = "110 deg", "cutter.included"
	set["scope"] = "copy"
	b.problem(409, "exists", "POST", "/api/jobs/barleycorn/set", set)
	set["scope"] = "part"
	b.want(200, "POST", "/api/jobs/barleycorn/set", set, &after)
	if after.Cutter.IncludedDeg != 110 {
		t.Errorf("%+v", after.Cutter)
	}
	set["scope"] = "all"
	set["if_revision"] = after.Revision
	b.problem(400, "request", "POST", "/api/jobs/barleycorn/set", set)
}

func TestEdit(t *testing.T) {
	b := newBench(t)
	v := b.job("barleycorn")
	for _, c := range []struct {
		body m
		want string // in the file
	}{
		{m{"op": "insert", "path": "sequence[1]", "value": "{turn: 1 deg}"}, "  - {turn: 1 deg}\n"},
		{m{"op": "duplicate", "path": "sequence[1]"}, "  - {turn: 1 deg}\n  - {turn: 1 deg}\n"},
		{m{"op": "repeat", "path": "sequence[1]", "count": 2, "value": "3"}, "  - repeat: 3\n    do:\n      - {turn: 1 deg}\n"},
		{m{"op": "move", "path": "sequence[1]", "to": "sequence[0]"}, "sequence:\n  - repeat: 3\n"},
		{m{"op": "unroll", "path": "sequence[0]"}, "sequence:\n  - {turn: 1 deg}\n"},
		{m{"op": "remove", "path": "sequence[0]"}, "sequence:\n  - {turn: 1 deg}\n  - repeat: 160\n"},
		{m{"op": "put", "path": "limits", "value": "{from: -5, to: 5}"}, "limits: {from: -5, to: 5}\n"},
	} {
		c.body["if_revision"] = v.Revision
		b.want(200, "POST", "/api/jobs/barleycorn/edit", c.body, &v)
		if !strings.Contains(v.Text, c.want) || b.file("barleycorn.yaml") != v.Text || len(v.Faults) > 0 {
			t.Errorf("%v: %v\n%s", c.body, v.Faults, v.Text)
		}
	}
	b.problem(400, "request", "POST", "/api/jobs/barleycorn/edit", m{"op": "dance", "path": "x", "if_revision": v.Revision})
	b.problem(422, "request", "POST", "/api/jobs/barleycorn/edit", m{"op": "remove", "path": "nothing", "if_revision": v.Revision})
	b.problem(409, "conflict", "POST", "/api/jobs/barleycorn/edit", m{"op": "remove", "path": "limits", "if_revision": "0"})
}

func TestPut(t *testing.T) {
	b := newBench(t)
	v := b.job("hobnail")
	var after view
	b.want(200, "PUT", "/api/jobs/hobnail", m{"text": "title: Broken\n", "if_revision": v.Revision}, &after)
	if after.Title != "Broken" || len(after.Faults) == 0 || !after.Stale || b.file("hobnail.yaml") != "title: Broken\n" {
		t.Errorf("%+v", after)
	}
	p := b.problem(422, "faults", "PUT", "/api/jobs/hobnail", m{"text": "a: [", "if_revision": after.Revision})
	if len(p.Faults) != 1 || p.Faults[0].Line == 0 {
		t.Errorf("%+v", p.Faults)
	}
	b.problem(409, "conflict", "PUT", "/api/jobs/hobnail", m{"text": v.Text, "if_revision": v.Revision})
	b.want(200, "PUT", "/api/jobs/hobnail", m{"text": v.Text, "if_revision": after.Revision}, &after)
	b.problem(409, "exists", "PUT", "/api/jobs/hobnail", m{"text": v.Text})
	b.want(200, "PUT", "/api/jobs/hobnail too", m{"text": v.Text}, nil)
	b.problem(404, "not-found", "GET", "/api/jobs/nothing", nil)
	if left, _ := filepath.Glob(filepath.Join(b.dir, "*.part*")); len(left) > 0 {
		t.Error("left behind:", left)
	}
}

// A disk that cannot be written leaves the file and says so.
func TestPutFails(t *testing.T) {
	b := newBench(t)
	v := b.job("hobnail")
	for n := range 101 { // every name that the writer would try is taken
		if err := os.Mkdir(filepath.Join(b.dir, fmt.Sprintf("hobnail.yaml.part%d", n)), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	b.problem(500, "server", "POST", "/api/jobs/hobnail/set", m{"field": "depth", "value": "0.04", "if_revision": v.Revision})
	if b.file("hobnail.yaml") != v.Text {
		t.Error("the file has changed")
	}
}

func TestNewJobs(t *testing.T) {
	b := benchIn(t, t.TempDir())
	var w workshop
	b.want(200, "GET", "/api/workshop", nil, &w)
	if len(w.Jobs) != 0 || len(w.Patterns) != len(exampleIDs(t)) {
		t.Fatalf("%d jobs, %d patterns", len(w.Jobs), len(w.Patterns))
	}
	for _, p := range w.Patterns { // every pattern can be cut in a workshop that had nothing
		var v view
		b.want(201, "POST", "/api/jobs", m{"from": m{"pattern": p.ID}, "title": "First / " + p.Title}, &v)
		if len(v.Faults) > 0 || v.Title != "First / "+p.Title || v.Digest == "" {
			t.Errorf("%s: %s: %+v", p.ID, v.Title, v.Faults)
		}
	}
	var v view
	b.want(201, "POST", "/api/jobs", m{"from": m{"job": "first-hobnail-boss"}, "title": "First / Hobnail boss"}, &v)
	if v.ID != "first-hobnail-boss-2" {
		t.Errorf("the copy is called %s", v.ID)
	}
	b.want(201, "POST", "/api/jobs", m{"from": m{"pattern": "hobnail"}, "title": "…"}, &v)
	if v.ID != "…" && v.ID != "piece" {
		t.Errorf("it is called %q", v.ID)
	}
	b.problem(404, "not-found", "POST", "/api/jobs", m{"from": m{"pattern": "../x"}, "title": "x"})
	b.problem(404, "not-found", "POST", "/api/jobs", m{"from": m{"job": "../x"}, "title": "x"})
	b.problem(400, "request", "POST", "/api/jobs", m{"from": m{"job": "a", "pattern": "b"}, "title": "x"})
	b.want(200, "GET", "/api/workshop", nil, &w)
	if len(w.Jobs) != len(w.Patterns)+2 || len(w.Parts["engines"]) == 0 {
		t.Errorf("%d jobs, %d engines", len(w.Jobs), len(w.Parts["engines"]))
	}
}

func TestTrash(t *testing.T) {
	b := newBench(t)
	text := b.file("swirl.yaml")
	var thrown struct {
		TrashID string `json:"trash_id"`
	}
	b.want(200, "DELETE", "/api/jobs/swirl", nil, &thrown)
	b.problem(404, "not-found", "GET", "/api/jobs/swirl", nil)
	b.problem(404, "not-found", "DELETE", "/api/jobs/swirl", nil)
	var list struct{ Items []thrownItem }
	b.want(200, "GET", "/api/trash", nil, &list)
	if len(list.Items) != 1 || list.Items[0].TrashID != thrown.TrashID || list.Items[0].ID != "swirl" || list.Items[0].Title == "swirl" || list.Items[0].Kind != "jobs" {
		t.Fatalf("%+v", list)
	}
	b.want(200, "PUT", "/api/jobs/swirl", m{"text": "title: Another\n"}, nil)
	var back struct{ Kind, ID string }
	b.want(200, "POST", "/api/trash/"+thrown.TrashID+"/restore", nil, &back)
	if back.ID != "swirl-2" || b.file("swirl-2.yaml") != text || b.file("swirl.yaml") != "title: Another\n" {
		t.Errorf("restored as %+v", back)
	}
	b.problem(404, "not-found", "POST", "/api/trash/"+thrown.TrashID+"/restore", nil)
	b.problem(404, "not-found", "POST", "/api/trash/..%2f..%2fetc/restore", nil)
}

type thrownItem = thrown

func TestParts(t *testing.T) {
	b := newBench(t)
	var p partView
	b.want(200, "GET", "/api/parts/cutters/bright-130", nil, &p)
	if p.Name != "Bright 130" || len(p.Faults) > 0 || len(p.UsedBy) < 3 || len(p.Values) == 0 {
		t.Errorf("%+v", p)
	}
	revision := p.Revision
	b.want(200, "POST", "/api/parts/cutters/bright-130/set", m{"field": "included", "value": "300", "if_revision": revision}, &p)
	if len(p.Faults) != 1 || p.Faults[0].Field != "included" {
		t.Errorf("%+v", p.Faults)
	}
	b.problem(409, "conflict", "POST", "/api/parts/cutters/bright-130/set", m{"field": "included", "value": "130", "if_revision": revision})
	b.problem(409, "exists", "DELETE", "/api/parts/cutters/bright-130", nil)
	b.want(201, "POST", "/api/parts/cutters", m{"name": "Wide and new", "from": "wide-140"}, &p)
	if p.ID != "wide-and-new" || p.Name != "Wide and new" || len(p.UsedBy) != 0 {
		t.Errorf("%+v", p)
	}
	b.problem(409, "exists", "POST", "/api/parts/cutters", m{"name": "Wide and new"})
	b.problem(404, "not-found", "POST", "/api/parts/hammers", m{"name": "Hammer"})
	b.problem(404, "not-found", "GET", "/api/parts/engines/..%2fbarleycorn", nil)
	b.want(200, "PUT", "/api/parts/cutters/wide-and-new", m{"text": "name: W\nincluded: 140\nclearance: 10\n", "if_revision": p.Revision}, &p)
	b.want(200, "DELETE", "/api/parts/cutters/wide-and-new", nil, nil)
	for _, folder := range partFolders {
		for _, one := range b.server.partNames(folder) {
			if one.ID == "bright-130" {
				continue // broken above
			}
			b.want(200, "GET", "/api/parts/"+folder+"/"+one.ID, nil, &p)
			if len(p.Faults) > 0 || p.Name == "" {
				t.Errorf("%s %s: %+v", folder, one.ID, p.Faults)
			}
		}
	}
}
