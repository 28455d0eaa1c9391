package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/png"
	"io"
	"strings"
	"testing"

	"brightcut/engine"
)

// A sheet with a picture carries it in both documents, with its words.
func TestPictureOnTheSheet(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewNRGBA(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	s := New(panel(), &engine.List{})
	s.Look = &Look{PNG: b.Bytes(), W: 30, H: 20, Across: 32.4, About: "silver & gold"}
	if w, h := s.Look.size(); w != 70 || h < 46.6 || h > 46.7 {
		t.Errorf("it is set %v × %v mm", w, h)
	}
	var plain, lit, page bytes.Buffer
	if err := WritePDF(&plain, New(panel(), &engine.List{}), A4); err != nil {
		t.Fatal(err)
	}
	if err := WritePDF(&lit, s, A4); err != nil {
		t.Fatal(err)
	}
	if image := []byte("/Subtype /Image"); bytes.Contains(plain.Bytes(), image) || !bytes.Contains(lit.Bytes(), image) {
		t.Error("the PDF has no picture, or one that it should not have")
	}
	if err := WriteHTML(&page, s); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(page.String(), "data:image/png;base64,") || !strings.Contains(page.String(), "32.4 mm across the picture: silver &amp; gold.") {
		t.Error("the page lacks the picture or its words")
	}
	d := xml.NewDecoder(&page)
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	// A picture that is none is told.
	s.Look.PNG = []byte("no picture")
	if err := WritePDF(io.Discard, s, A4); err == nil {
		t.Error("a broken picture was set")
	}
}
