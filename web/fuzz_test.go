package web

import (
	"encoding/json"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/examples"
	"brightcut/job"
)

// FuzzChange: no body makes the server stumble; what it refuses it refuses as a
// problem and leaves the file; what it takes leaves a file that still reads, and
// nothing beside it.
func FuzzChange(f *testing.F) {
	for _, seed := range []struct{ route, body string }{
		{"set", `{"field":"depth","value":"50 um","if_revision":"R"}`},
		{"set", `{"field":"title","value":"a: b # c","if_revision":"R"}`},
		{"set", `{"field":"cutter.included","value":"120","if_revision":"R","scope":"copy","part_name":"New"}`},
		{"edit", `{"op":"insert","path":"sequence[0].do[1]","value":"{step: 3 teeth}","if_revision":"R"}`},
		{"edit", `{"op":"move","path":"sequence[0].do[0]","to":"sequence[1]","if_revision":"R"}`},
		{"edit", `{"op":"repeat","path":"sequence[0].do[0]","count":2,"value":"4","if_revision":"R"}`},
		{"edit", `{"op":"unroll","path":"sequence[0]","if_revision":"R"}`},
		{"edit", `{"op":"remove","path":"notes","if_revision":"R"}`},
		{"edit", `{"op":"duplicate","path":"sequence[0]","if_revision":"R"}`},
		{"edit", `{"op":"put","path":"limits","value":"{from: 1, to: 2}","if_revision":"R"}`},
		{"bar/points", `{"points":[[0,0],[1,0.2],[3,0]],"spline":true,"scope":"copy","part_name":"x","if_revision":"R"}`},
		{"bar/try", `{"points":[[0,0],[1e9,0.2],[3,0]]}`},
	} {
		f.Add(seed.route, seed.body)
	}
	dir := f.TempDir()
	if err := os.CopyFS(dir, examples.Workshop); err != nil {
		f.Fatal(err)
	}
	s, err := New(dir, Options{})
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { s.Close() })
	path := filepath.Join(dir, "barleycorn.yaml")
	text, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, route, body string) {
		if route != "set" && route != "edit" && route != "bar/points" && route != "bar/try" {
			return
		}
		if strings.Contains(body, "repeat") && strings.Contains(body, "00000") {
			return // a million cuts are the engine's to refuse, and slow
		}
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest("POST", "http://127.0.0.1/api/jobs/barleycorn/"+route, strings.NewReader(strings.ReplaceAll(body, `"R"`, `"`+revisionOf(text)+`"`)))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		now, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case w.Code >= 500:
			t.Fatalf("%d: %s", w.Code, w.Body)
		case w.Code >= 400:
			var p problem
			if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil || p.Title == "" || p.Status != w.Code {
				t.Fatalf("%d: %s", w.Code, w.Body)
			}
			if string(now) != string(text) {
				t.Fatalf("refused, and the file has changed:\n%s", now)
			}
		default:
			if err := job.CheckText("barleycorn.yaml", now); err != nil {
				t.Fatalf("the file no longer reads: %v\n%s", err, now)
			}
		}
		if left, _ := filepath.Glob(filepath.Join(dir, "*.part*")); len(left) > 0 {
			t.Fatal("left behind:", left)
		}
	})
}
