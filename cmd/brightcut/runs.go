package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"text/tabwriter"
	"time"

	"brightcut/bench"
	"brightcut/internal/whole"
)

type runsCommand struct {
	List   runsList   `cmd:"" default:"withargs" help:"List the runs counted in a workshop, the latest first."`
	Save   runsSave   `cmd:"" help:"Write a run with its whole history to one file."`
	Bring  runsBring  `cmd:"" help:"Bring a run from such a file into a workshop."`
	Record recordMake `cmd:"" help:"Write the record of a run: what was set, done and measured."`
}

func (runsCommand) Help() string {
	return `A run is a piece being counted at the engine, on the page of brightcut open. Its log
stands in bench.sqlite in the workshop's folder and is only ever added to.
Examples:

  brightcut runs ~/lantern-yard
  brightcut runs save ~/lantern-yard 4f2c --out dial.run
  brightcut runs bring ~/lantern-yard dial.run
  brightcut runs record ~/lantern-yard 4f2c --out dial.pdf`
}

type runsList struct {
	Folder string `arg:"" optional:"" default:"." help:"Folder of the workshop."`
	JSON   bool   `name:"json" help:"Print the runs as JSON (docs/json.md names the keys)."`
}

// runRow is a run as JSON has it.
type runRow struct {
	ID      string `json:"id"`
	Job     string `json:"job"`
	Title   string `json:"title"`
	State   string `json:"state"`
	Started string `json:"started"`
	Last    string `json:"last"`
	Next    int    `json:"next"`
	Counted int    `json:"counted"`
	Total   int    `json:"total"`
	Torn    string `json:"torn,omitempty"`
}

func (c runsList) Run(b console) error {
	log, err := bench.Open(c.Folder)
	if err != nil {
		return err
	}
	defer log.Close()
	runs, err := log.Runs(b)
	if err != nil {
		return err
	}
	rows := make([]runRow, 0, len(runs))
	for _, r := range runs {
		row := runRow{r.ID, r.Job, r.Title, string(r.State.Phase), r.Started.Format(time.RFC3339), r.State.Latest.Format(time.RFC3339), r.State.Next, r.State.Counted, r.State.Strokes, ""}
		if r.Torn != nil {
			row.Torn = r.Torn.Error()
		}
		rows = append(rows, row)
	}
	if c.JSON {
		return printJSON(b.out, map[string]any{"runs": rows})
	}
	if len(rows) == 0 {
		fmt.Fprintf(b.out, "No run was counted in %s yet.\n", c.Folder)
		return nil
	}
	t := tabwriter.NewWriter(b.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "run\tbegun\tjob\tcounted\tstate")
	for i, r := range runs {
		fmt.Fprintf(t, "%s\t%s\t%s\t%d of %d\t%s\n", shortID(runs, i), r.Started.Local().Format("2006-01-02 15:04"), r.Title, r.State.Counted, r.State.Strokes, r.State.Phase)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, row := range rows {
		if row.Torn != "" {
			fmt.Fprintf(b.err, "brightcut: %s\n", row.Torn)
		}
	}
	return nil
}

// shortID is as much of a run's ID as tells it from the others, four characters at
// least.
func shortID(runs []bench.Summary, i int) string {
	id := runs[i].ID
	for n := 4; n < len(id); n++ {
		alone := true
		for k := range runs {
			if k != i && len(runs[k].ID) >= n && runs[k].ID[:n] == id[:n] {
				alone = false
			}
		}
		if alone {
			return id[:n]
		}
	}
	return id
}

// findRun returns the run of a workshop whose ID begins as given.
func findRun(ctx context.Context, log *bench.Log, folder, id string) (*bench.Run, error) {
	runs, err := log.Runs(ctx)
	if err != nil {
		return nil, err
	}
	found := ""
	for _, r := range runs {
		if r.ID == id {
			found = id
			break
		}
		if len(id) >= 2 && len(r.ID) > len(id) && r.ID[:len(id)] == id {
			if found != "" {
				return nil, fmt.Errorf("run %s: several runs in %s begin so; give more of it", id, folder)
			}
			found = r.ID
		}
	}
	if found == "" {
		return nil, fmt.Errorf("run %s: %w in %s; brightcut runs %s lists them", id, bench.ErrNoRun, folder, folder)
	}
	return log.Run(ctx, found)
}

type runsSave struct {
	Folder string `arg:"" help:"Folder of the workshop."`
	Run_   string `arg:"" name:"run" help:"The run, or the beginning of its name that tells it from the others."`
	Out    string `required:"" placeholder:"FILE.run" help:"File to write."`
	Force  bool   `help:"Write over a file that is there."`
}

func (c runsSave) Run(b console) error {
	log, err := bench.Open(c.Folder)
	if err != nil {
		return err
	}
	defer log.Close()
	run, err := findRun(b, log, c.Folder, c.Run_)
	if err != nil {
		return err
	}
	if err := mayWrite(c.Out, c.Force); err != nil {
		return err
	}
	if err := whole.Write(c.Out, func(w io.Writer) error { return log.Export(b, run.ID, w) }); err != nil {
		return err
	}
	fmt.Fprintf(b.out, "%s: the run of %s, %s.\n", c.Out, run.Title, count(int(run.State.Seq), "event"))
	return nil
}

// mayWrite refuses to write over a file unless it is forced.
func mayWrite(path string, force bool) error {
	if _, err := os.Stat(path); force || errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return fmt.Errorf("write %s: there is a file of that name; give another, or --force to write over it", path)
}

type runsBring struct {
	Folder string `arg:"" help:"Folder of the workshop."`
	File   string `arg:"" help:"File of the run."`
}

func (c runsBring) Run(b console) error {
	file, err := os.Open(c.File)
	if err != nil {
		return fmt.Errorf("read the run: %w", err)
	}
	defer file.Close()
	log, err := bench.Open(c.Folder)
	if err != nil {
		return err
	}
	defer log.Close()
	id, err := log.Import(b, file)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	run, err := log.Run(b, id)
	if err != nil {
		return err
	}
	fmt.Fprintf(b.out, "The run of %s is in the workshop, %d of %s counted.\n", run.Title, run.State.Counted, count(run.State.Strokes, "cut"))
	return nil
}
