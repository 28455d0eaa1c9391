// Command brightcut is the workshop program for people who engrave metal with
// hand-cranked straight line and rose engines. It parses, calls and prints; the
// trade itself is in the packages beside it.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"

	"brightcut/fault"

	"github.com/alecthomas/kong"
)

// The exit codes: all is well, the job (or the machine) is wrong, the command
// line is wrong.
const (
	exitWell  = 0
	exitWrong = 1
	exitUsage = 2
)

// commands is the command line, one field a command.
type commands struct {
	Demo         demoCommand         `cmd:"" help:"Write the example workshop and take every job in it from file to cut sheet."`
	Open         openCommand         `cmd:"" help:"Open the workshop as a page in the browser."`
	Check        checkCommand        `cmd:"" help:"Read a job and report everything that is wrong or worth knowing."`
	Cuts         cutsCommand         `cmd:"" help:"List the cuts with their settings, readings and rounding."`
	Picture      pictureCommand      `cmd:"" help:"Draw the piece as it will look under a lamp."`
	Light        lightCommand        `cmd:"" help:"Say how the piece takes the light: the light rose, contrast, evenness, what shows."`
	Film         filmCommand         `cmd:"" help:"Make a film of the piece while the lamp moves or the piece is rocked."`
	Contact      contactCommand      `cmd:"" help:"Lay pictures of other metals, rooms, lamps or cutters side by side."`
	Sheet        sheetCommand        `cmd:"" help:"Write the cut sheet for the bench."`
	Figures      figuresCommand      `cmd:"" help:"Say what the surface will be: widths, lands, crests, texture."`
	Depth        depthCommand        `cmd:"" help:"Predict the depth of every cut and plan how to hold it."`
	True         trueCommand         `cmd:"" help:"Say how the work stands and how to turn the screws of the truing chuck."`
	Testcuts     testcutsCommand     `cmd:"" help:"Say what test cuts tell of cutter, guide and hand."`
	Inspect      inspectCommand      `cmd:"" help:"Compare measured widths with the plan, and say what can be the cause."`
	Bar          barCommand          `cmd:"" help:"Report on bars and rosettes, trace them from drawings, find the edge for a wanted path."`
	Export       exportCommand       `cmd:"" help:"Write bars, rosettes, cuts and surfaces for other programs and machines."`
	Runs         runsCommand         `cmd:"" help:"List, save, bring and record the runs counted at the engine."`
	Calibrations calibrationsCommand `cmd:"" help:"List what test cuts and finished pieces told, and withdraw what was wrong."`
	Quote        quoteCommand        `cmd:"" help:"Say what a job takes: hours, touch-ups of the cutter, metal, and a price."`
	Schema       schemaCommand       `cmd:"" help:"Print the JSON Schema of the job file or of one of its parts."`
	Version      versionCommand      `cmd:"" help:"Print the version."`
}

// console is what a command works with: where to print, and when to stop.
type console struct {
	context.Context
	out, err io.Writer
}

// usageError is a command line that cannot be meant.
type usageError struct{ error }

func usage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := run(console{ctx, os.Stdout, os.Stderr}, os.Args[1:])
	stop()
	os.Exit(code)
}

// run parses the arguments, carries out the command and returns the exit code.
func run(b console, args []string) int {
	var cli commands
	if len(args) == 0 {
		args = []string{"--help"}
	}
	parser := kong.Must(&cli,
		kong.Name("brightcut"),
		kong.Description("From the idea to the cut piece, in whole teeth of your engine."),
		kong.Writers(b.out, b.err),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
	)
	chosen, err := parser.Parse(args)
	if err == nil {
		err = chosen.Run(b)
	} else {
		err = usageError{err}
	}
	return report(b, err)
}

// report prints what went wrong and returns the exit code for it.
func report(b console, err error) int {
	var wrongUse usageError
	var faults fault.List
	switch {
	case err == nil:
		return exitWell
	case errors.As(err, &wrongUse):
		fmt.Fprintf(b.err, "brightcut: %v\nTry: brightcut --help\n", wrongUse)
		return exitUsage
	case errors.As(err, &faults):
		fmt.Fprintln(b.err, faults)
		fmt.Fprintf(b.err, "%s to mend.\n", count(len(faults), "fault"))
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(b.err, "brightcut: stopped; nothing half-written was left.")
	case errors.Is(err, errReported):
	default:
		fmt.Fprintf(b.err, "brightcut: %v\n", err)
	}
	return exitWrong
}

// errReported makes the exit code 1 when what is wrong has been printed already.
var errReported = errors.New("reported")

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
