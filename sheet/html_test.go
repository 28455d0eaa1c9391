package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"brightcut/engine"
	"brightcut/job"
)

// read walks the page as strict XML and returns its words and the fields of its
// values.
func read(t *testing.T, page []byte) (text string, fields map[string]string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(page))
	d.Strict = true
	fields = map[string]string{}
	field, style := "", false
	var open []string
	var all strings.Builder
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well formed: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			open = append(open, tok.Name.Local)
			style = tok.Name.Local == "style"
			if tok.Name.Local == "script" {
				t.Error("a script in the page")
			}
			field = ""
			for _, a := range tok.Attr {
				switch {
				case a.Name.Local == "data-field":
					field = a.Value
				case a.Name.Local == "href" || a.Name.Local == "src" || strings.HasPrefix(a.Name.Local, "on"):
					t.Errorf("%s=%q: the page fetches or runs something", a.Name.Local, a.Value)
				}
			}
		case xml.EndElement:
			open = open[:len(open)-1]
			field, style = "", false
		case xml.CharData:
			if style {
				if s := string(tok); strings.Contains(s, "url(") || strings.Contains(s, "@import") {
					t.Error("the style fetches something")
				}
				continue
			}
			all.WriteString(string(tok))
			if field != "" {
				fields[field] = string(tok)
			}
		}
	}
	if len(open) != 0 {
		t.Fatalf("left open: %v", open)
	}
	return blanks.ReplaceAllString(strings.ReplaceAll(all.String(), hardSpace, " "), " "), fields
}

func inHTML(t *testing.T, s *Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteHTML(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestHTMLSaysWhatTheTextSays(t *testing.T) {
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		text, fields := read(t, inHTML(t, s))
		sentences := append(append([]Sentence{}, s.Setup...), s.Closures...)
		for _, b := range s.Table {
			for _, r := range b.Rows {
				sentences = append(sentences, r.motion())
			}
		}
		for _, p := range sentences {
			if !strings.Contains(text, p.String()) {
				t.Errorf("the page does not say: %s", p)
			}
			for _, v := range p {
				if v.Field != "" && fields[v.Field] == "" {
					t.Errorf("no value for the field %s", v.Field)
				}
			}
		}
		if got, want := strings.Count(string(inHTML(t, s)), "<i>"), len(l.Cuts); got != want {
			t.Errorf("%d boxes for %d cuts", got, want)
		}
	})
}

// TestNothingWrittenRuns puts markup, quotes, control characters and strange
// scripts wherever a person may write words.
func TestNothingWrittenRuns(t *testing.T) {
	for _, evil := range []string{
		"<script>alert(1)</script>", `"><img src=x onerror=alert(1)>`, "</style></title><b>", "a\x00b\x1b[31m\u2028c\ufffe", "\xff\xfe", "&amp;{{.}}&#0;",
		"指輪 💍 \u202eabc", strings.Repeat("long", 400),
	} {
		j, l := basket()
		j.Title, j.Notes, j.Digest, j.Metal.Name, j.Guide.Name = evil, evil+"\n"+evil, "<i>\"&123", evil, evil
		j.Setup.Engine.Name, j.Setup.Cutter.Name = evil, evil
		b := j.Setup.Bars["fine-sine"]
		b.Name = evil
		j.Setup.Bars["fine-sine"] = b
		j.Setup.Blank.Windows[0].Name, j.Setup.Blank.KeepClear[0].Name = evil, evil
		l.Warnings = []engine.Warning{{Kind: "heel", First: 1, Last: 2, Text: evil}}
		l.Closures = []engine.Closure{{Text: evil, Offers: []engine.Offer{{Text: evil}}}}
		l.Cuts[3].Moves = append(l.Cuts[3].Moves[:1:1], engine.Move{Motion: engine.Note, Name: evil}, engine.Move{Motion: engine.Swap, Name: evil})
		s := New(j, l)
		read(t, inHTML(t, s))
		var text, pdf bytes.Buffer
		if err := WriteText(&text, s); err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(text.String(), "\n") {
			if n := len([]rune(line)); n > columns {
				t.Errorf("%.20q: line %d has %d columns", evil, i+1, n)
			}
			if strings.ContainsAny(line, "\x00\x1b\r") {
				t.Errorf("%.20q: a control character in line %d", evil, i+1)
			}
		}
		if err := WritePDF(&pdf, s, A4); err != nil {
			t.Fatalf("%.20q: %v", evil, err)
		}
		popple(t, s, Letter)
	}
}
