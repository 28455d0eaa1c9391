package job_test

import (
	"context"
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/txtar"

	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

// FuzzRead: no text makes the reader panic; what it refuses has a file, words
// and a way to mend it; what it takes is written and read again.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"barleycorn.yaml", "rings.yaml"} {
		text, err := os.ReadFile("testdata/shop/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	for _, name := range []string{"keys", "parts", "sequence", "yaml", "checks"} {
		a, err := txtar.ParseFile("testdata/faults/" + name + ".txtar")
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range a.Files {
			f.Add(file.Data)
		}
	}
	shop := laid(f, nil)
	file := *shop["barleycorn.yaml"]
	shop["job.yaml"] = &file
	f.Fuzz(func(t *testing.T, text []byte) {
		shop["job.yaml"].Data = text
		d, err := job.Open(shop, "job.yaml")
		if err != nil {
			sound(t, err)
			return
		}
		if err := d.Set("depth", "0.0625"); err == nil && !strings.Contains(string(d.Text()), "0.0625") {
			t.Error("Set did nothing")
		}
		shop["job.yaml"].Data = text
		j, err := job.ReadFS(shop, "job.yaml")
		if err != nil {
			sound(t, err)
			return
		}
		whole, err := j.Marshal()
		if err != nil {
			t.Fatalf("it reads, but is not written: %v\n%s", err, text)
		}
		shop["job.yaml"].Data = whole
		again, err := job.ReadFS(shop, "job.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if twice, err := again.Marshal(); err != nil || string(twice) != string(whole) {
			t.Fatalf("written twice, two texts: %v\n%s\n%s", err, whole, twice)
		}
		ctx, stop := context.WithTimeout(context.Background(), 200*time.Millisecond)
		defer stop()
		if _, err := j.Cuts(ctx); err != nil && !errors.Is(err, context.DeadlineExceeded) {
			sound(t, err)
		}
	})
}

func sound(t *testing.T, err error) {
	t.Helper()
	var l fault.List
	if !errors.As(err, &l) || len(l) == 0 || len(l) > 101 {
		t.Fatalf("not a list of faults: %v", err)
	}
	for _, f := range l {
		if f.Origin.File == "" || f.Problem == "" || f.Mend == "" || f.Origin.Line > 0 && f.Origin.Column < 1 {
			t.Errorf("%#v", f)
		}
		if f.Origin.Line == 0 && f.Field != "" {
			t.Errorf("a field without a place: %#v", f)
		}
	}
}

// FuzzParseAmount: an amount that reads is finite, and its text reads as itself.
func FuzzParseAmount(f *testing.F) {
	for _, s := range []string{"16 teeth", "1 1/2 mm", "half a wave", "360 round", "14 tpi", "-.5e-3 in", "11 1/2 °", "0x1", "1/0", "−1/2 wave"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, err := job.ParseAmount(text, job.Inch, engine.Length)
		if err != nil {
			sound := err.Error()
			if sound == "" || len(sound) > 1000 {
				t.Errorf("%q", sound)
			}
			return
		}
		if !(a.Value >= -1e6 && a.Value <= 1e6) || a.Den < 0 || a.Unit == 0 {
			t.Fatalf("%q: %+v", text, a)
		}
		b, err := job.ParseAmount(a.Text, job.Millimetre, engine.Angle)
		if err != nil || b != a {
			t.Fatalf("%q: %+v reads as %+v, %v", text, a, b, err)
		}
	})
}
