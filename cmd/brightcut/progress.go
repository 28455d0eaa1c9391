package main

import (
	"io"
	"os"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// progress shows a bar for long work when the error stream is a terminal, and
// nothing otherwise. The returned function is told how much is done; call stop
// at the end, whatever happened.
func progress(b console, label string) (told func(done, total int), stop func()) {
	f, ok := b.err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return func(int, int) {}, func() {}
	}
	return progressBar(b, f, label)
}

func progressBar(b console, w io.Writer, label string) (told func(done, total int), stop func()) {
	bars := mpb.NewWithContext(b, mpb.WithOutput(w), mpb.WithWidth(48))
	one := bars.AddBar(0,
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(label+" ")),
		mpb.AppendDecorators(decor.Percentage()))
	told = func(done, total int) {
		one.SetTotal(int64(total), false)
		one.SetCurrent(int64(done))
	}
	stop = func() {
		one.SetTotal(-1, true)
		one.Abort(true)
		bars.Wait()
	}
	return told, stop
}
