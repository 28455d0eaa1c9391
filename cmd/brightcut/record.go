package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
	_ "time/tzdata" // so that a zone is known on any machine

	"brightcut/bench"
	"brightcut/internal/whole"
	"brightcut/job"
	"brightcut/record"
	"brightcut/sheet"
)

type recordMake struct {
	Folder string `arg:"" help:"Folder of the workshop, or the file of one run."`
	Run_   string `arg:"" name:"run" optional:"" help:"The run, or the beginning of its name; left out when the file has but one."`
	Out    string `required:"" placeholder:"FILE" help:"File to write: .pdf, .html or .txt."`
	Paper  string `default:"a4" enum:"a4,letter" help:"Paper of the PDF: a4 or letter (${default})."`
	Zone   string `placeholder:"ZONE" help:"Zone of the times, as Europe/Berlin or UTC; that of this machine when it is not given."`
	Force  bool   `help:"Write over a file that is there."`
}

func (c recordMake) Run(b console) error {
	zone := time.Local
	if c.Zone != "" {
		var err error
		if zone, err = time.LoadLocation(c.Zone); err != nil {
			return usage("--zone %s: this zone is not known; write it as Europe/Berlin, or UTC", c.Zone)
		}
	}
	write, ok := map[string]func(io.Writer, *record.Record) error{
		".pdf": func(w io.Writer, r *record.Record) error {
			return record.WritePDF(w, r, map[string]sheet.Paper{"a4": sheet.A4, "letter": sheet.Letter}[c.Paper])
		},
		".html": record.WriteHTML,
		".txt":  record.WriteText,
	}[strings.ToLower(filepath.Ext(c.Out))]
	if !ok {
		return usage("--out %s: a record is written as .pdf, .html or .txt", c.Out)
	}
	if err := mayWrite(c.Out, c.Force); err != nil {
		return err
	}
	folder, id, done, err := c.source(b)
	if err != nil {
		return err
	}
	defer done()
	log, err := bench.Open(folder)
	if err != nil {
		return err
	}
	defer log.Close()
	run, err := findRun(b, log, c.Folder, id)
	if err != nil {
		return err
	}
	prices, err := job.ReadPrices(os.DirFS(folder))
	if err != nil {
		return err
	}
	r, err := record.Make(b, log, run, prices, zone, recordPixels)
	if err != nil {
		return err
	}
	if err := whole.Write(c.Out, func(w io.Writer) error { return write(w, r) }); err != nil {
		return err
	}
	fmt.Fprintf(b.out, "%s: the record of %s.\n", c.Out, run.Title)
	return nil
}

// source returns the folder that has the run: the workshop's, or a passing one into
// which the run's file is brought.
func (c recordMake) source(b console) (folder, id string, done func(), err error) {
	if info, err := os.Stat(c.Folder); err != nil || info.IsDir() {
		if c.Run_ == "" {
			return "", "", nil, usage("name the run too; brightcut runs %s lists them", c.Folder)
		}
		return c.Folder, c.Run_, func() {}, nil
	}
	dir, err := os.MkdirTemp("", "brightcut-record-")
	if err != nil {
		return "", "", nil, err
	}
	done = func() { os.RemoveAll(dir) }
	file, err := os.Open(c.Folder)
	if err == nil {
		defer file.Close()
		var log *bench.Log
		if log, err = bench.Open(dir); err == nil {
			id, err = log.Import(b, file)
			log.Close()
		}
	}
	if err != nil {
		done()
		return "", "", nil, fmt.Errorf("%s: %w", c.Folder, err)
	}
	return dir, id, done, nil
}

// recordPixels is the longer side of a record's picture.
const recordPixels = 1200
