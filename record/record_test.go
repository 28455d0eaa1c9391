package record_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"brightcut/bench"
	"brightcut/examples"
	"brightcut/inspect"
	"brightcut/record"
	"brightcut/sheet"
)

// counted is a run of the bowed dial in a workshop of its own: 359 cuts counted,
// one left out, one taken back and counted again, a break, a note, widths.
func counted(t testing.TB) (*bench.Log, *bench.Run) {
	t.Helper()
	log, err := bench.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { log.Close() })
	frozen, err := bench.Freeze(examples.Workshop, "bowed-dial.yaml")
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	at := time.Date(2031, 4, 2, 8, 2, 0, 0, time.UTC)
	const id = "7d1f0c52-2c1e-4a7b-9a55-0d5e3c1f2a01"
	if _, err := log.Start(ctx, bench.Start{ID: id, Frozen: frozen, Device: "bench", At: at}); err != nil {
		t.Fatal(err)
	}
	var events []bench.Event
	add := func(e bench.Event) {
		e.ID, e.At = fmt.Sprintf("event-%04d", len(events)), at
		if e.Device == "" {
			e.Device = "bench"
		}
		events = append(events, e)
	}
	for n := 1; n <= 360; n++ {
		at = at.Add(9*time.Second + time.Duration(n%5)*time.Second)
		switch n {
		case 97:
			add(bench.Event{Kind: bench.Skipped, Cut: n, Text: "a scratch under the guide"})
			continue
		case 140:
			add(bench.Event{Kind: bench.Done, Cut: n})
			last := events[len(events)-1].ID
			at = at.Add(4 * time.Second)
			add(bench.Event{Kind: bench.Undone, Cut: n, Undoes: last})
			at = at.Add(20 * time.Second)
		case 200:
			add(bench.Event{Kind: bench.Paused})
			at = at.Add(14 * time.Minute)
			add(bench.Event{Kind: bench.Resumed})
		case 240:
			add(bench.Event{Kind: bench.Note, Text: "Chips under the foot, wiped."})
		case 300:
			add(bench.Event{Kind: bench.TouchedUp})
			at = at.Add(10 * time.Minute)
		case 353:
			add(bench.Event{Kind: bench.Held, Text: "guide retracted, stop engaged"})
		}
		add(bench.Event{Kind: bench.Done, Cut: n})
	}
	at = at.Add(time.Hour)
	for n := 10; n <= 350; n += 20 {
		add(bench.Event{Kind: bench.Measured, Cut: n, Reading: 14, Width: 0.197 + 0.001*float64(n%3), Place: "rim", Device: "microscope"})
	}
	add(bench.Event{Kind: bench.Finished})
	answer, err := log.Append(ctx, id, events)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range answer.Outcomes {
		if o.Verdict != bench.Kept {
			t.Fatalf("%+v", o)
		}
	}
	run, err := log.Run(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	return log, run
}

func made(t testing.TB, log *bench.Log, run *bench.Run, pixels int) *record.Record {
	t.Helper()
	events, err := log.Events(t.Context(), run.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	var archive bytes.Buffer
	if err := log.Export(t.Context(), run.ID, &archive); err != nil {
		t.Fatal(err)
	}
	found, _, err := record.Inspect(t.Context(), run, events, inspect.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := record.New(t.Context(), run, events, record.Options{Found: found, Zone: time.FixedZone("summer", 2*3600), Pixels: pixels, Archive: archive.Bytes()})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What the log says is told: in order, counts together, times in the zone named.
func TestTold(t *testing.T) {
	log, run := counted(t)
	r := made(t, log, run, 0)
	var text bytes.Buffer
	if err := record.WriteText(&text, r); err != nil {
		t.Fatal(err)
	}
	got := strings.Join(strings.Fields(text.String()), " ")
	at := 0
	for _, want := range []string{
		"was begun on 2 April 2031 at 10.02 and was finished", "359 of 360 cuts counted, 1 left out", "four in five between", "UTC+02:00",
		"From cut 353, retract the guide",
		"2 April 2031, 10.02: the run was begun at bench", "cuts 1 to 96 counted at bench", "cut 97 was left out: a scratch under the guide.",
		"cuts 98 to 140 counted", "the count of cut 140 was taken back at bench", "cuts 140 to 199 counted", "paused.", "gone on with.",
		"cuts 200 to 239 counted", "note: Chips under the foot, wiped.", "the cutter was touched up", "the hold of the depth was changed: guide retracted, stop engaged", "cuts 353 to 360 counted", "finished.",
		"18 widths measured; on the mean +", "Planned (µm)",
		"bowed-dial.yaml", "calibrations/bright-130-dial-foot.yaml", "cutters/bright-130.yaml", "readings/bowed-dial.csv",
	} {
		i := strings.Index(got[at:], want)
		if i < 0 {
			t.Fatalf("%q is not told, or not in its place, in\n%s", want, text.String())
		}
		at += i
	}
	for i, l := range strings.Split(text.String(), "\n") {
		if n := len([]rune(l)); n > 80 && !strings.Contains(l, "{") && !strings.Contains(l, ",") {
			t.Errorf("line %d has %d columns", i+1, n)
		}
	}
}

// The job's files printed in the record make the same cuts again.
func TestFilesMakeThePieceAgain(t *testing.T) {
	log, run := counted(t)
	r := made(t, log, run, 0)
	dir := t.TempDir()
	for _, f := range r.Files {
		path := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(f.Text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	again, err := bench.Freeze(os.DirFS(dir), run.Frozen.Name)
	if err != nil || again.Digest != run.Frozen.Digest {
		t.Errorf("%v: %s, not %s", err, again.Digest, run.Frozen.Digest)
	}
}

func TestSameBytes(t *testing.T) {
	log, run := counted(t)
	one, other := made(t, log, run, 64), made(t, log, run, 64)
	for name, write := range map[string]func(io.Writer, *record.Record) error{
		"pdf":  func(w io.Writer, r *record.Record) error { return record.WritePDF(w, r, sheet.A4) },
		"html": record.WriteHTML, "text": record.WriteText,
	} {
		var a, b bytes.Buffer
		if err := write(&a, one); err != nil {
			t.Fatal(err)
		}
		if err := write(&b, other); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("two %s records of one run differ", name)
		}
		if name == "html" {
			d := xml.NewDecoder(&a)
			d.Entity = xml.HTMLEntity
			for {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Fatalf("the page is not well-formed: %v", err)
				}
			}
		}
	}
}

// Poppler reads the PDF's words and its attachment; the attachment is the run.
func TestPDFByPoppler(t *testing.T) {
	for _, tool := range []string{"pdftotext", "pdfdetach"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatalf("%s is missing: install poppler-utils", tool)
			}
			t.Skipf("%s is not on this machine (Debian: poppler-utils)", tool)
		}
	}
	log, run := counted(t)
	r := made(t, log, run, 200)
	dir := t.TempDir()
	file := filepath.Join(dir, "record.pdf")
	var pdf bytes.Buffer
	if err := record.WritePDF(&pdf, r, sheet.Letter); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, pdf.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", file, "-").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, want := range []string{"Sunburst on bowed stock", "cuts 1 to 96 counted", "cut 97 was left out", "Measured (µm)", "calibrations/bright-130-dial-foot.yaml"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("%q cannot be read in the PDF", want)
		}
	}
	if out, err := exec.Command("pdfdetach", "-saveall", "-o", dir, file).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	again, err := bench.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	attached, err := os.Open(filepath.Join(dir, run.ID+".run"))
	if err != nil {
		t.Fatal(err)
	}
	defer attached.Close()
	id, err := again.Import(t.Context(), attached)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := again.Run(t.Context(), id); err != nil || back.State.Counted != run.State.Counted {
		t.Errorf("%v: the attached run comes back as %+v", err, back)
	}
}
