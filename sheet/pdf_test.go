package sheet

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"brightcut/engine"
	"brightcut/job"
)

// tool finds a program of poppler. Its absence fails on the build server, where
// .ci/run installs it, and skips elsewhere.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatalf("%s is missing: install poppler-utils", name)
	}
	if err != nil {
		t.Skipf("%s is missing: install poppler-utils to check the PDF by another reader", name)
	}
	return path
}

// popple writes the PDF and returns what poppler reads in it: its text, its
// number of pages and the size of its paper.
func popple(t *testing.T, s *Sheet, paper Paper) (text string, pages int, size string) {
	t.Helper()
	pdfinfo, pdftotext := tool(t, "pdfinfo"), tool(t, "pdftotext")
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	var b bytes.Buffer
	if err := WritePDF(&b, s, paper); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	info, err := exec.Command(pdfinfo, file).CombinedOutput()
	if err != nil || strings.Contains(string(info), "Error") {
		t.Fatalf("pdfinfo: %v\n%s", err, info)
	}
	out, err := exec.Command(pdftotext, "-layout", file, "-").CombinedOutput()
	if err != nil {
		t.Fatalf("pdftotext: %v\n%s", err, out)
	}
	find := func(what string) string {
		m := regexp.MustCompile(what).FindStringSubmatch(string(info))
		if m == nil {
			t.Fatalf("pdfinfo says no %s:\n%s", what, info)
		}
		return m[1]
	}
	fmt.Sscan(find(`Pages:\s+(\d+)`), &pages)
	return string(out), pages, find(`Page size:\s+(.*?) pts`)
}

var blanks = regexp.MustCompile(`\s+`)

func TestPDFReadByPoppler(t *testing.T) {
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		for paper, want := range map[Paper]string{A4: "595.28 x 841.89", Letter: "612 x 792"} {
			text, pages, size := popple(t, s, paper)
			if size != want {
				t.Errorf("paper of %s points, want %s", size, want)
			}
			for n := 1; n <= pages; n++ {
				if page := fmt.Sprintf("page %d of %d", n, pages); strings.Count(text, page) != 1 {
					t.Errorf("%q stands %d times", page, strings.Count(text, page))
				}
			}
			if n := strings.Count(text, "job 1f00c0de "); n != pages {
				t.Errorf("the digest stands on %d of %d pages", n, pages)
			}
			plain := blanks.ReplaceAllString(text, " ")
			for _, p := range append(append([]Sentence{}, s.Setup...), s.Closures...) {
				if !strings.Contains(plain, p.String()) {
					t.Errorf("the PDF does not say: %s", p)
				}
			}
			for _, c := range s.Cautions {
				if !strings.Contains(plain, c) {
					t.Errorf("the PDF does not say: %s", c)
				}
			}
			for _, r := range s.Readings {
				if !strings.Contains(plain, fmt.Sprintf("%s ", r.numbers())) {
					t.Errorf("cut %d has no readings", r.First)
				}
			}
		}
	})
}

// TestSameBytes: two makings of one job give the same bytes.
func TestSameBytes(t *testing.T) {
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		sum := func(s *Sheet) (h [3][32]byte) {
			var b bytes.Buffer
			WriteText(&b, s)
			h[0] = sha256.Sum256(b.Bytes())
			WriteHTML(&b, s)
			h[1] = sha256.Sum256(b.Bytes())
			WritePDF(&b, s, A4)
			h[2] = sha256.Sum256(b.Bytes())
			return h
		}
		if sum(s) != sum(New(j, l)) {
			t.Error("the bytes differ")
		}
	})
}

// TestLook writes every sheet to the folder named by SHEET_LOOK, to be looked at.
func TestLook(t *testing.T) {
	dir := os.Getenv("SHEET_LOOK")
	if dir == "" {
		t.Skip("SHEET_LOOK names no folder")
	}
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		for end, write := range map[string]func(*bytes.Buffer) error{
			"-a4.pdf":     func(b *bytes.Buffer) error { return WritePDF(b, s, A4) },
			"-letter.pdf": func(b *bytes.Buffer) error { return WritePDF(b, s, Letter) },
			".html":       func(b *bytes.Buffer) error { return WriteHTML(b, s) },
		} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, filepath.Base(t.Name())+end), b.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func BenchmarkPDF(b *testing.B) {
	s := New(basket())
	for b.Loop() {
		var out bytes.Buffer
		if err := WritePDF(&out, s, A4); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(out.Len()), "bytes")
	}
}
