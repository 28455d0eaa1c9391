package table

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/fault"
	"pgregory.net/rapid"
)

var (
	square = Layout{{Name: "x", Kind: Length, Unit: "mm"}, {Name: "y", Kind: Length, Unit: "mm"}, {Name: "z", Kind: Length, Unit: "mm"}}
	round  = Layout{{Name: "r", Kind: Length, Unit: "mm"}, {Name: "angle", Kind: Angle, Unit: "deg"}, {Name: "z", Kind: Length, Unit: "mm"}}
	named  = Layout{{Name: "width", Kind: Length}, {Name: "hand", Kind: Word}, {Name: "name", Kind: Word, Optional: true}}
)

// Three readings written in every way that is understood.
func TestWays(t *testing.T) {
	want := [][3]float64{{1.5, -2, 0.012}, {2.5, 0, -0.003}, {1000, 0.25, 0}}
	for _, text := range []string{
		"1.5,-2,0.012\n2.5,0,-0.003\n1e3,0.25,0\n",
		"x,y,z\n1.5,-2,0.012\n2.5,0,-0.003\n1e3,0.25,0",
		"\ufeffx,y,z\r\n1.5,-2,0.012\r\n2.5,0,-0.003\r\n1000,.25,0\r\n",
		"# a remark, with \"one quote\nz um; x mm; y mm; who\n12; 1.5; -2; A\n-3; 2.5; 0; B # bump, here\n0; 1000; 0.25;\n",
		"x [mm]\ty (µm)\tz/um\n1,5\t-2000\t12\n2,5\t0\t-3\n1000\t250\t0\n",
		"x_mm y_mm z_um\n1.5   -2 12\n  2.5 0\t-3\n1000 0.25 0\n",
		"1,5 −2 0,012\n2,5 0 -0,003\n1000 0,25 0\n",
		"\"x\",\"y\",\"z\"\n\"1.5\",\"-2\",\"0.012\"\n2.5, \"0\",-0.003\n1000,0.25,0\n\n",
		"x;y;z\nmm;um;µm\n1,5;-2000;12\n2,5;0;-3\n1000;250;0\n",
		"x mm;y mm;z \xb5m\n1.5;-2;12\n2.5;0;-3\n1000;.25;0\n",
	} {
		got, err := Read(strings.NewReader(text), "a.csv", square, round)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got.Rows() != len(want) {
			t.Errorf("%q: %d rows", text, got.Rows())
			continue
		}
		for i, w := range want {
			for k := range 3 {
				if v := got.Values[k][i]; math.Abs(v-w[k]) > 1e-15*math.Abs(w[k]) {
					t.Errorf("%q: row %d column %d is %v, want %v", text, i, k, v, w[k])
				}
			}
		}
	}
}

func TestSeparator(t *testing.T) {
	for _, c := range []struct {
		line string
		want byte
	}{
		{"12,5 30,1", ' '}, {"12.5, 30.1", ','}, {"12,5;30,1", ';'}, {"12,5\t30,1", '\t'}, {"1,2", ','}, {"1 2", ' '},
		{"0,193 45,0 firm", ' '}, {"0.193,45.0,firm hand", ','}, {"x;y", ';'}, {"x y", ' '}, {"5", '\t'},
	} {
		if got := separator([]string{c.line}); got != c.want {
			t.Errorf("%q: separator %q, want %q", c.line, got, c.want)
		}
	}
}

func TestRound(t *testing.T) {
	got, err := Read(strings.NewReader("r in,angle turn,z thou\n0.5,0.25,1\n"), "a.csv", square, round)
	if err != nil {
		t.Fatal(err)
	}
	if got.Layout != 1 || got.Values[0][0] != 12.7 || got.Values[1][0] != math.Pi/2 || got.Values[2][0] != 0.0254 {
		t.Errorf("%+v", got)
	}
}

func TestWords(t *testing.T) {
	got, err := Read(strings.NewReader("name,hand,width um\ncut 1,firm,193\n,light,180\n"), "a.csv", named)
	if err != nil {
		t.Fatal(err)
	}
	if got.Words[1][0] != "firm" || got.Words[2][0] != "cut 1" || got.Words[2][1] != "" || got.Values[0][1] != 0.18 {
		t.Errorf("%+v", got)
	}
}

// Every fault with its place, and all of them at once.
func TestFaults(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"x,y,z\n1,2,nan\n1,Inf,3\n4,5\n6,seven,8\n", "a.csv:2:5: z: \"nan\" is not a number|a.csv:3:3: y: \"Inf\" is not a number|a.csv:4:4: z: it is missing|a.csv:5:3: y: \"seven\" is not a number"},
		{"x,y\n1,2\n", "a.csv:1:1: the header names no column z"},
		{"alpha,beta,gamma\n1,2,3\n", "names no column x|names no column y|names no column z"},
		{"1,2,3,4\n", "a.csv:1:7: there are 4 columns where 3 are due"},
		{"x,y,z furlong\n1,2,3\n", "a.csv:1:5: z is a length, and \"furlong\" is no unit"},
		{"x,x,y,z\n1,2,3,4\n", "x is named twice"},
		{"x,y,r,angle,z\n1,2,3,4,5\n", "names both x, y, z and r, angle, z"},
		{"x;y;z\n1,5;2,5;0\n1.5;2;0\n", "a.csv:3:1: x: \"1.5\" has a decimal point, where other numbers have decimal commas"},
		{"x;y;z\n1.5;2.5;0\n1,5;2;0\n", "a.csv:3:1: x: \"1,5\" has a decimal comma, where line 2 has decimal points"},
		{"x;y;z\n1.234,5;2;0\n", "leave out what divides the thousands"},
		{"x,y,z\n1,2,\"3\n", "a quotation mark has no partner"},
		{"x,y,z\n1,2,0x10\n", "\"0x10\" is not a number"},
		{"x,y,z\n1,2,1_0\n", "\"1_0\" is not a number"},
		{"x,y,z\n1,2,3 mm\n", "its unit belongs in the header"},
		{"x,y,z\n1,2,1e999\n", "\"1e999\" is not a number"},
		{"", "there are no readings in it"},
		{"# nothing\n\n", "there are no readings in it"},
		{"x,y,z\n", "there are no readings in it"},
		{"\xff\xfex\x00", "UTF-16"},
		{"x,y,z\n1,2,\x003\n", "a.csv:2:5: there is a zero byte"},
		{"1,2,3\r4,5,6\r", "carriage returns"},
		{strings.Repeat("1", MaxLine+5), "longer than 64 KiB"},
	} {
		_, err := Read(strings.NewReader(c.text), "a.csv", square, round)
		var list fault.List
		if !errors.As(err, &list) {
			t.Errorf("%.40q: %v", c.text, err)
			continue
		}
		for _, want := range strings.Split(c.want, "|") {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%.40q: %q is not in\n%v", c.text, want, err)
			}
		}
	}
	if _, err := Read(strings.NewReader("width,hand\n1,firm\n"), "a.csv", named); err == nil || !strings.Contains(err.Error(), "no unit for width") {
		t.Errorf("a width without a unit: %v", err)
	}
}

func TestManyFaults(t *testing.T) {
	var b strings.Builder
	b.WriteString("x,y,z\n")
	for range 154 {
		b.WriteString("1,2,bad\n")
	}
	_, err := Read(strings.NewReader(b.String()), "a.csv", square)
	list, _ := errors.AsType[fault.List](err)
	if len(list) != MaxShown+1 || !strings.Contains(list[MaxShown].Problem, "and 134 more") {
		t.Errorf("%v", err)
	}
}

var longLine = "1,2,3" + strings.Repeat(" ", 1000) + "\n"

// endless gives the same line for ever.
type endless struct{ at int }

func (e *endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		k := copy(p[n:], longLine[e.at:])
		n += k
		e.at = (e.at + k) % len(longLine)
	}
	return n, nil
}

func TestLimits(t *testing.T) {
	// Two gigabytes are refused by their size: the file is a hole.
	name := filepath.Join(t.TempDir(), "large.csv")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := f.Truncate(2 << 30); err != nil {
		t.Skip("no sparse file here: ", err)
	}
	if _, err := Read(f, name, square); err == nil || !strings.Contains(err.Error(), "2048 MiB") {
		t.Errorf("2 GiB: %v", err)
	}
	if at, _ := f.Seek(0, io.SeekCurrent); at != 0 {
		t.Errorf("%d bytes were read first", at)
	}
	if _, err := Read(&endless{}, "pipe", square); err == nil || !strings.Contains(err.Error(), "64 MiB") {
		t.Errorf("an endless stream: %v", err)
	}
	if _, err := Read(strings.NewReader(strings.Repeat("1 2 3\n", MaxRows+1)), "rows", square); err == nil || !strings.Contains(err.Error(), "rows") {
		t.Errorf("too many rows: %v", err)
	}
	folder, err := os.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	if _, err := Read(folder, "there", square); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("a folder: %v", err)
	}
}

// What is written in any way reads back the same.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		between := rapid.SampledFrom([]string{",", ";", "\t", " "}).Draw(t, "between")
		comma := between != "," && rapid.Bool().Draw(t, "comma")
		rows := rapid.SliceOfN(rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 3, 3), 1, 60).Draw(t, "rows")
		var b strings.Builder
		if rapid.Bool().Draw(t, "header") {
			b.WriteString(strings.Join([]string{"x", "y", "z"}, between) + "\n")
		}
		for _, row := range rows {
			for k, v := range row {
				if k > 0 {
					b.WriteString(between)
				}
				s := fmt.Sprint(v)
				if comma {
					// All numbers of a file are written alike.
					if s = strings.Replace(s, ".", ",", 1); !strings.Contains(s, ",") && !strings.Contains(s, "e") {
						s += ",0"
					}
				}
				b.WriteString(s)
			}
			b.WriteString("\n")
		}
		got, err := Read(strings.NewReader(b.String()), "a.csv", square)
		if err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		for i, row := range rows {
			for k, v := range row {
				if got.Values[k][i] != v {
					t.Fatalf("%v read as %v", v, got.Values[k][i])
				}
			}
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{"x,y,z\n1,2,3\n", "1,5;2;3 # a\n", "\"a\"\t\"\n", "x mm y mm z um\n", "r/mm;angle [deg];z\nmm;°;µm\n1;2;3\n", "\ufeff\xb5,,,\n−1 ,2\n", "nan inf 1\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := Read(strings.NewReader(text), "fuzz.csv", square, round)
		if err != nil {
			var list fault.List
			if !errors.As(err, &list) || len(list) == 0 || len(list) > MaxShown+1 {
				t.Fatalf("%v", err)
			}
			for _, one := range list {
				if one.Origin.File != "fuzz.csv" || one.Problem == "" {
					t.Fatalf("a fault without place or problem: %+v", one)
				}
			}
			return
		}
		for _, column := range got.Values {
			if len(column) != got.Rows() {
				t.Fatal("a column is too short")
			}
			for _, v := range column {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%v was let through", v)
				}
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var text strings.Builder
	const rows = 100_000
	for i := range rows {
		fmt.Fprintf(&text, "%.3f,%.3f,%.4f\n", float64(i%300)/10-15, float64(i/300)/10-15, math.Sin(float64(i)))
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(strings.NewReader(text.String()), "bench", square); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
