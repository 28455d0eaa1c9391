package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

type calibrationsCommand struct {
	Folder   string `arg:"" optional:"" default:"." help:"Folder of the workshop."`
	Withdraw string `placeholder:"FILE:NUMBER" help:"Let one count no more, as bright-130-dial-foot:2; the one before it counts again."`
	Restore  string `placeholder:"FILE:NUMBER" help:"Let one that was withdrawn count again."`
	Date     string `placeholder:"DAY" help:"Day of the withdrawal, as 2031-03-14; today when it is not given."`
}

func (calibrationsCommand) Help() string {
	return `What test cuts and finished pieces told of cutters, guides and engines stands dated
in calibrations/, and jobs are read with the latest that was not withdrawn. Examples:

  brightcut calibrations ~/lantern-yard
  brightcut calibrations ~/lantern-yard --withdraw bright-130-dial-foot:2`
}

func (c calibrationsCommand) Run(b console) error {
	if c.Withdraw != "" && c.Restore != "" {
		return usage("--withdraw and --restore at once: give one of them")
	}
	if c.Withdraw != "" || c.Restore != "" {
		day := ""
		if c.Withdraw != "" {
			if day = c.Date; day == "" {
				day = time.Now().Format(time.DateOnly)
			}
			if _, err := time.Parse(time.DateOnly, day); err != nil {
				return usage("--date %s: write year, month and day as 2031-03-14", day)
			}
		}
		which := c.Withdraw + c.Restore
		file, number, found := strings.Cut(which, ":")
		n, err := strconv.Atoi(number)
		if !found || err != nil {
			return usage("%s: name the file and the number in it, as bright-130-dial-foot:2", which)
		}
		if err := job.Withdraw(c.Folder, file, n, day); err != nil {
			return err
		}
	}
	all, err := job.Calibrations(os.DirFS(c.Folder))
	var faults fault.List
	if err != nil && !errors.As(err, &faults) {
		return err
	}
	if len(all) == 0 && len(faults) == 0 {
		fmt.Fprintf(b.out, "Nothing is kept in %s yet.\n", c.Folder)
		return nil
	}
	t := tabwriter.NewWriter(b.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "calibration\tday\twhat it tells\tfrom\t")
	for _, k := range all {
		state := ""
		switch {
		case k.Withdrawn != "":
			state = "withdrawn " + k.Withdrawn
		case k.Counts:
			state = "counts"
		}
		fmt.Fprintf(t, "%s:%d\t%s\t%s\t%s\t%s\n", k.File, k.Number, k.Date, tells(&k.Calibration), k.From, state)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}

// tells says what a calibration tells, in few words.
func tells(c *job.Calibration) string {
	var out []string
	value := func(name string, k *depth.Known, factor float64, unit string, digits int) {
		if k != nil {
			out = append(out, fmt.Sprintf("%s %.*f%s", name, digits, k.Value*factor, unit))
		}
	}
	value("angle", c.Angle, 180/math.Pi, "°", 2)
	value("flat", c.Flat, 1000, " µm", 1)
	value("zero", c.Zero, 1000, " µm", 1)
	value("give", c.Compliance, 1000, " µm/N", 2)
	value("wear", c.Wear, 1000, " µm/m", 2)
	periodic := func(name string, p *engine.Periodic, factor float64, unit string) {
		if p != nil {
			out = append(out, fmt.Sprintf("%s %.3g%s every %g turns", name, p.Size*factor, unit, p.Turns))
		}
	}
	periodic("slide", c.Slide, 1000, " µm")
	periodic("index", c.Index, 180/math.Pi, "°")
	return strings.Join(out, ", ")
}
