package main

import (
	"io"
	"path/filepath"
	"strings"

	"brightcut/internal/whole"
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
	return whole.Write(c.Out, func(w io.Writer) error { return set(w, s) })
}
