package bench

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// exported is the file of a run with something of everything in its log.
func exported(t testing.TB) (*Log, string, []byte) {
	t.Helper()
	l, r := begun(t)
	ctx := context.Background()
	events := append(done("bench", 1, 1, 12), done("tablet", 1, 8, 14)...)
	events = append(events,
		Event{ID: "m", Kind: Measured, Cut: 3, Piece: 1, Reading: -4.25, Width: 0.1934, Device: "tablet", Seen: 1, Place: "under the microscope <&>"},
		Event{ID: "n", Kind: Note, Text: "Heel « rubs »\nfrom here", Device: "tablet", Seen: 1},
		Event{ID: "u", Kind: Undone, Undoes: "bench-1-12", Device: "bench", Seen: 1},
		Event{ID: "t", Kind: TouchedUp, Device: "bench", Seen: 1})
	if _, err := l.Append(ctx, r.ID, events); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := l.Export(ctx, r.ID, &b); err != nil {
		t.Fatal(err)
	}
	return l, r.ID, b.Bytes()
}

// A run comes through its file as it was: events, state, frozen job, program; the
// same run gives the same bytes; taking it in twice changes nothing.
func TestThroughTheFile(t *testing.T) {
	ctx := context.Background()
	from, id, file := exported(t)
	to, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	for range 2 {
		if got, err := to.Import(ctx, bytes.NewReader(file)); err != nil || got != id {
			t.Fatalf("%s, %v", got, err)
		}
	}
	a, err := from.Run(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	b, err := to.Run(ctx, id)
	if err != nil || !reflect.DeepEqual(a.Summary, b.Summary) || !reflect.DeepEqual(a.Settings, b.Settings) || a.Frozen.Digest != b.Frozen.Digest || !reflect.DeepEqual(a.Rounds, b.Rounds) || a.Circle != b.Circle {
		t.Fatalf("%+v\n%+v, %v", a, b, err)
	}
	ae, _ := from.Events(ctx, id, 0)
	be, err := to.Events(ctx, id, 0)
	if err != nil || !reflect.DeepEqual(ae, be) || len(ae) != 24 {
		t.Fatalf("%d and %d events, %v", len(ae), len(be), err)
	}
	if _, err := b.Plan(ctx); err != nil {
		t.Fatal(err)
	}
	var again bytes.Buffer
	if err := to.Export(ctx, id, &again); err != nil || !bytes.Equal(again.Bytes(), file) {
		t.Fatalf("the file differs: %v", err)
	}
	if s, err := to.Append(ctx, id, done("bench", 24, b.State.Next, b.State.Next)); err != nil || s.State.Next != b.State.Next+1 {
		t.Fatalf("counting on: %+v, %v", s, err)
	}
}

// A file with more of the same history carries the run on; an older one changes
// nothing; another history is refused.
func TestHistories(t *testing.T) {
	ctx := context.Background()
	from, id, old := exported(t)
	to, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	if _, err := to.Import(ctx, bytes.NewReader(old)); err != nil {
		t.Fatal(err)
	}
	r, _ := from.Run(ctx, id)
	if _, err := from.Append(ctx, id, done("bench", r.State.Seq, r.State.Next, r.State.Next+4)); err != nil {
		t.Fatal(err)
	}
	var more bytes.Buffer
	if err := from.Export(ctx, id, &more); err != nil {
		t.Fatal(err)
	}
	for _, file := range [][]byte{more.Bytes(), old} {
		if _, err := to.Import(ctx, bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		if got, err := to.Run(ctx, id); err != nil || got.State.Next != r.State.Next+5 {
			t.Fatalf("%+v, %v", got, err)
		}
	}
	other, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if _, err := other.Import(ctx, bytes.NewReader(old)); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Append(ctx, id, done("other", r.State.Seq, r.State.Next, r.State.Next)); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Import(ctx, bytes.NewReader(more.Bytes())); !errors.Is(err, ErrOtherHistory) || !strings.Contains(err.Error(), "from event 25 on") {
		t.Fatal(err)
	}
	if got, _ := other.Run(ctx, id); got.State.Seq != 25 {
		t.Fatalf("a refused file left %d events", got.State.Seq)
	}
}

// altered packs the entries of a file again, some of them changed.
func altered(t testing.TB, file []byte, change func(name string, body []byte) (string, []byte)) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		name, body := change(f.Name, body)
		if name == "" {
			continue
		}
		to, err := w.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		to.Write(body)
	}
	w.Close()
	return out.Bytes()
}

// swap changes a text within one entry.
func swap(entry, from, to string) func(string, []byte) (string, []byte) {
	return func(name string, body []byte) (string, []byte) {
		if strings.HasSuffix(name, entry) {
			return name, bytes.Replace(body, []byte(from), []byte(to), 1)
		}
		return name, body
	}
}

func rename(entry, to string) func(string, []byte) (string, []byte) {
	return func(name string, body []byte) (string, []byte) {
		if name == entry {
			return to, body
		}
		return name, body
	}
}

// A file that was altered is refused, with why, and nothing of it is kept.
func TestAlteredFile(t *testing.T) {
	_, _, file := exported(t)
	for _, c := range []struct {
		name, why string
		file      []byte
	}{
		{"an event", "not as they were written", altered(t, file, swap("events.jsonl", `"cut":7`, `"cut":6`))},
		{"a note", "not as they were written", altered(t, file, swap("events.jsonl", "rubs", "rubz"))},
		{"an event too many", "event 25 is missing", altered(t, file, func(n string, b []byte) (string, []byte) {
			if n == "events.jsonl" {
				b = append(b, b[:bytes.IndexByte(b, '\n')+1]...)
			}
			return n, b
		})},
		{"the last event gone", "not as they were written", altered(t, file, func(n string, b []byte) (string, []byte) {
			if n == "events.jsonl" {
				b = b[:bytes.LastIndexByte(b[:len(b)-1], '\n')+1]
			}
			return n, b
		})},
		{"the head", "not as they were written", altered(t, file, swap("run.json", `"device":"bench"`, `"device":"bank"`))},
		{"more cuts", "settings of 160 cuts", altered(t, file, swap("run.json", `"strokes":160`, `"strokes":161`))},
		{"too many cuts", "1600000000 cuts", altered(t, file, swap("run.json", `"strokes":160`, `"strokes":1600000000`))},
		{"the settings", "settings.txt is not as it was written", altered(t, file, swap("settings.txt", "16", "17"))},
		{"the job", "not as it was written", altered(t, file, swap("files/barleycorn.yaml", "depth", "Depth"))},
		{"another format", "of format 2", altered(t, file, swap("run.json", `"format":1`, `"format":2`))},
		{"no events", "has no events.jsonl", altered(t, file, rename("events.jsonl", ""))},
		{"no job", "has no files/barleycorn.yaml", altered(t, file, rename("files/barleycorn.yaml", ""))},
		{"something more", "does not belong", altered(t, file, rename("events.jsonl", "x/../events.jsonl"))},
		{"a way out", "not a file of a workshop", altered(t, file, swap("run.json", `"name":"barleycorn.yaml"`, `"name":"../barleycorn.yaml"`))},
		{"no file", "no file that this program wrote", []byte("PK rubbish")},
		{"nothing", "no file that this program wrote", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := Open(t.TempDir())
			if err != nil {
				t.Fatal(err)
			}
			defer l.Close()
			_, err = l.Import(context.Background(), bytes.NewReader(c.file))
			if c.name == "something more" {
				c.why = "has no events.jsonl"
			}
			if err == nil || !strings.Contains(err.Error(), c.why) {
				t.Fatalf("%v; want %q", err, c.why)
			}
			if all, err := l.Runs(context.Background()); err != nil || len(all) != 0 {
				t.Fatalf("%d runs are kept, %v", len(all), err)
			}
		})
	}
}

// A run taken in cannot come from nowhere but its file: what is read is whole, or
// refused, whatever the bytes; what is taken in can be read and counted on.
func FuzzImport(f *testing.F) {
	_, _, file := exported(f)
	f.Add(file)
	f.Add([]byte{})
	for _, entry := range []string{"run.json", "events.jsonl", "settings.txt"} {
		f.Add(altered(f, file, rename(entry, "")))
		f.Add(altered(f, file, swap(entry, "1", "2")))
	}
	folder, err := os.MkdirTemp("", "bench-fuzz")
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { os.RemoveAll(folder) })
	f.Fuzz(func(t *testing.T, file []byte) {
		c, text, bodies, err := readArchive(bytes.NewReader(file))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "take in the file of a run: ") {
				t.Fatal(err)
			}
			return
		}
		if c.seq != int64(len(bodies)) || len(text) == 0 || len(c.settings) != c.head.Strokes {
			t.Fatalf("%+v of %d events", c.head, len(bodies))
		}
		os.Remove(filepath.Join(folder, FileName))
		l, err := Open(folder)
		if err != nil {
			t.Fatal(err)
		}
		defer os.Remove(l.path)
		defer l.Close()
		id, err := l.Import(context.Background(), bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		if r, err := l.Run(context.Background(), id); err != nil || r.State.Seq != c.seq {
			t.Fatalf("%+v, %v", r, err)
		}
	})
}

// The settings of the cuts are read as they were written, and nothing else is.
func FuzzSettings(f *testing.F) {
	f.Add([]byte("-1280 0 0 0 fine\n-1264 0 75 0 fine\n-1248 0 0 0 fine\n"), 3)
	f.Add([]byte("1 2 3 4 a bar with spaces\n"), 1)
	f.Add([]byte("1 2 3 4\n"), 1)
	f.Fuzz(func(t *testing.T, text []byte, strokes int) {
		if strokes < 0 || strokes > mostStrokes {
			return
		}
		got, err := readSettings(text, strokes)
		if err == nil && len(got) != strokes {
			t.Fatalf("%d settings of %d", len(got), strokes)
		}
	})
}

// FuzzBody: an event read from the log is written again as it was, or refused.
func FuzzBody(f *testing.F) {
	e := done("bench", 4, 7, 7)[0]
	e.Seq = 9
	body, err := e.body()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(body)
	f.Add([]byte(`{"seq":1,"id":"x","kind":"done","cut":1e3}`))
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		e, err := readBody(body)
		if err != nil {
			return
		}
		again, err := e.body()
		if err != nil {
			return // a time that JSON cannot hold
		}
		if same, err := readBody(again); err != nil || same.ID != e.ID || same.Cut != e.Cut || !same.At.Equal(e.At) || same.Width != e.Width {
			t.Fatalf("%+v became %+v, %v", e, same, err)
		}
		NewTally(10).Take(e)
	})
}
