package main

import (
	"bytes"
	"image"
	"io"
	"path/filepath"
	"strings"

	"brightcut/engine"
	"brightcut/internal/whole"
	"brightcut/job"
	"brightcut/light"
	"brightcut/sheet"
)

type sheetCommand struct {
	Job   string `arg:"" help:"Job file."`
	Out   string `short:"o" placeholder:"FILE" help:"Where to write it: .pdf, .html or .txt. Without it the text is printed."`
	Paper string `default:"a4" enum:"a4,letter" help:"Paper of the PDF: a4 or letter."`
}

func (sheetCommand) Help() string {
	return `The set-up in sentences, the piece as a drawing, the sequence with a box to tick
for every cut, what to watch for. Examples:

  brightcut sheet barleycorn.yaml
  brightcut sheet barleycorn.yaml --out barleycorn.pdf
  brightcut sheet barleycorn.yaml --out barleycorn.pdf --paper letter
  brightcut sheet barleycorn.yaml --out barleycorn.html`
}

func (c sheetCommand) Run(b console) error {
	var set func(io.Writer, *sheet.Sheet) error
	switch strings.ToLower(filepath.Ext(c.Out)) {
	case ".pdf":
		paper := sheet.A4
		if c.Paper == "letter" {
			paper = sheet.Letter
		}
		set = func(w io.Writer, s *sheet.Sheet) error { return sheet.WritePDF(w, s, paper) }
	case ".html", ".htm":
		set = sheet.WriteHTML
	case ".txt":
		set = sheet.WriteText
	default:
		if c.Out != "" {
			return usage("--out %s: a cut sheet is written as PDF, HTML or text; end the name in .pdf, .html or .txt", c.Out)
		}
	}
	j, list, plan, err := readPlanned(b, c.Job)
	if err != nil {
		return err
	}
	s := sheet.NewPlanned(j, list, plan)
	if c.Out == "" {
		return sheet.WriteText(b.out, s)
	}
	if !strings.EqualFold(filepath.Ext(c.Out), ".txt") {
		if s.Look, err = look(b, j, list); err != nil {
			return err
		}
	}
	return whole.Write(c.Out, func(w io.Writer) error { return set(w, s) })
}

// lookPixels is the longer side of the picture on a cut sheet: some 300 to the inch.
const lookPixels = 820

// look is the picture that goes onto a cut sheet, in the job's own metal and finish.
func look(b console, j *job.Job, list *engine.List) (*sheet.Look, error) {
	scene, _ := j.Scene() // of silver, where the look of the metal is not known
	view := light.Whole(&j.Setup.Blank, lookPixels)
	img, err := render(b, j, list, view, scene, "Lighting the piece")
	if err != nil {
		return nil, err
	}
	return lookOf(img, view, scene)
}

func lookOf(img image.Image, view light.View, scene light.Scene) (*sheet.Look, error) {
	var png bytes.Buffer
	if err := light.WritePNG(&png, img, view.Pixel(), ""); err != nil {
		return nil, err
	}
	return &sheet.Look{PNG: png.Bytes(), W: view.W, H: view.H, Across: view.Width, About: scene.String()}, nil
}
