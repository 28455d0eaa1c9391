package main

import (
	"bytes"
	"flag"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"brightcut/examples"
)

var update = flag.Bool("update", false, "write what the program says into the handbook")

// What the handbook shows behind a $ is what the program says in the example
// workshop: the same words, and the same numbers but for two in a hundred.
func TestHandbookShowsWhatTheProgramSays(t *testing.T) {
	pages := map[string]string{}
	for _, page := range []string{"depth.md", "truing.md", "inspect.md", "light.md"} {
		text, err := os.ReadFile(filepath.Join("../../docs", page))
		if err != nil {
			t.Fatal(err)
		}
		pages[page] = string(text)
	}
	docs, err := filepath.Abs("../../docs")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, fs.FS(examples.Workshop)); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	for page, text := range pages {
		got, shown := played(t, text)
		if shown == 0 {
			t.Errorf("%s shows no output", page)
		}
		if *update {
			if err := os.WriteFile(filepath.Join(docs, page), []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		was, is := strings.Split(text, "\n"), strings.Split(got, "\n")
		for i := range max(len(was), len(is)) {
			if i >= len(was) || i >= len(is) || !alike(was[i], is[i]) {
				t.Errorf("docs/%s:%d shows\n%s\nand the program says\n%s\n(go test ./cmd/brightcut -run Handbook -update writes it anew)", page, i+1, at(was, i), at(is, i))
				break
			}
		}
	}
}

func at(lines []string, i int) string {
	if i < len(lines) {
		return lines[i]
	}
	return "nothing"
}

// played puts behind every line "    $ brightcut …" what the command prints, in
// place of what stands there set in.
func played(t *testing.T, text string) (string, int) {
	lines := strings.Split(text, "\n")
	var out []string
	shown := 0
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		command, ok := strings.CutPrefix(lines[i], "    $ brightcut ")
		if !ok {
			continue
		}
		shown++
		var told, complaint bytes.Buffer
		if code := run(console{t.Context(), &told, &complaint}, words(command)); code != exitWell {
			t.Fatalf("brightcut %s: exit code %d\n%s", command, code, complaint.String())
		}
		for line := range strings.SplitSeq(strings.TrimRight(told.String(), "\n"), "\n") {
			if line != "" {
				line = "    " + line
			}
			out = append(out, line)
		}
		for i+1 < len(lines) && (strings.HasPrefix(lines[i+1], "    ") || lines[i+1] == "" && i+2 < len(lines) && strings.HasPrefix(lines[i+2], "    ")) {
			i++
		}
	}
	return strings.Join(out, "\n"), shown
}

// words parts a command line, quotes kept together.
func words(command string) []string {
	var out []string
	for _, w := range regexp.MustCompile(`'[^']*'|\S+`).FindAllString(command, -1) {
		out = append(out, strings.Trim(w, "'"))
	}
	return out
}

var number = regexp.MustCompile(`\d+(\.\d+)?`)

// alike compares words exactly and numbers to two in a hundred, or two of the last
// digit; runs of blanks are one.
func alike(a, b string) bool {
	plain := func(s string) string { return strings.Join(strings.Fields(number.ReplaceAllString(s, "#")), " ") }
	if plain(a) != plain(b) {
		return false
	}
	x, y := number.FindAllString(a, -1), number.FindAllString(b, -1)
	for i := range x {
		u, _ := strconv.ParseFloat(x[i], 64)
		v, _ := strconv.ParseFloat(y[i], 64)
		last := 1.0
		if _, decimals, ok := strings.Cut(x[i], "."); ok {
			last = math.Pow(10, -float64(len(decimals)))
		}
		if d := math.Abs(u - v); d > 0.02*math.Max(u, v) && d > 2.5*last {
			return false
		}
	}
	return true
}
