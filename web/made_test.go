package web

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/png"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/examples"
	"brightcut/job"
	"brightcut/surface"
)

// cuts.bin says exactly what the list says, in the layout of docs/api.md.
func TestCutsBinary(t *testing.T) {
	b := newBench(t)
	for _, id := range []string{"barleycorn", "bands", "lantern-pendant"} {
		v := b.job(id)
		raw := b.want(200, "GET", "/api/jobs/"+id+"/cuts.bin?digest="+v.Digest, nil, nil)
		j, err := job.ReadFS(examples.Workshop, id+".yaml")
		if err != nil {
			t.Fatal(err)
		}
		list, err := j.Cuts(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		u := func(at int) int { return int(binary.LittleEndian.Uint32(raw[at:])) }
		f := func(at int) float32 { return math.Float32frombits(binary.LittleEndian.Uint32(raw[at:])) }
		pieces, vertices := u(12), u(16)
		if string(raw[:4]) != "BCUT" || u(4) != 1 || u(8) != len(list.Cuts) || pieces != v.Cuts.Pieces || vertices != v.Cuts.Vertices || len(raw) != 64+16*pieces+16*vertices {
			t.Fatalf("%s: the head says %q %d %d %d %d of %d bytes", id, raw[:4], u(4), u(8), pieces, vertices, len(raw))
		}
		data, n := 64+16*pieces, 0
		for _, c := range list.Cuts {
			for _, p := range c.Pieces {
				row := 64 + 16*n
				first := u(row + 4)
				if u(row) != c.Number || u(row+8) != len(p.Path) || u(row+12) == 1 != p.Closed {
					t.Fatalf("%s: piece %d says cut %d, %d vertices", id, n, u(row), u(row+8))
				}
				for i, q := range p.Path {
					at := data + 16*(first+i)
					if f(at) != float32(q.X) || f(at+4) != float32(q.Y) || f(at+8) != float32(q.Z) || f(at+12) != float32(q.Across) {
						t.Fatalf("%s: cut %d, vertex %d", id, c.Number, i)
					}
					if f(at) < f(20) || f(at+4) < f(24) || f(at) > f(28) || f(at+4) > f(32) {
						t.Fatalf("%s: a vertex lies beyond the bounds", id)
					}
				}
				if f(data+16*(first+len(p.Path))+8) != 1000 {
					t.Fatalf("%s: no break behind piece %d", id, n)
				}
				n++
			}
		}
		if n != pieces {
			t.Errorf("%s: %d pieces, want %d", id, pieces, n)
		}
		res, _ := b.do("GET", "/api/jobs/"+id+"/cuts.bin?digest="+v.Digest, nil)
		if !strings.Contains(res.Header.Get("Cache-Control"), "immutable") {
			t.Error("it may not be kept")
		}
		if again, _ := b.do("GET", "/api/jobs/"+id+"/cuts.bin?digest="+v.Digest, nil, "If-None-Match", res.Header.Get("ETag")); again.StatusCode != 304 {
			t.Errorf("again: %d", again.StatusCode)
		}
		if other, _ := b.do("GET", "/api/jobs/"+id+"/cuts.bin?digest=0", nil); strings.Contains(other.Header.Get("Cache-Control"), "immutable") {
			t.Error("kept for a digest that it is not of")
		}
		var cuts cutList
		b.want(200, "GET", "/api/jobs/"+id+"/cuts.json", nil, &cuts)
		if len(cuts.Cuts) != len(list.Cuts) || cuts.Cuts[1].Action == "" || cuts.Cuts[1].Field == "" || cuts.Cuts[1].Line == 0 {
			t.Errorf("%s: %+v", id, cuts.Cuts[1])
		}
	}
}

func TestPicture(t *testing.T) {
	b := newBench(t)
	draw := func(query string) (image.Image, []byte) {
		t.Helper()
		raw := b.want(200, "GET", "/api/jobs/hobnail/picture.png?"+query, nil, nil)
		img, err := png.Decode(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		return img, raw
	}
	img, first := draw("pixels=64")
	if n := max(img.Bounds().Dx(), img.Bounds().Dy()); n != 64 {
		t.Errorf("%d pixels", n)
	}
	if _, again := draw("pixels=64"); !bytes.Equal(first, again) {
		t.Error("drawn again it is another")
	}
	seen := map[string]string{string(first): "plain"}
	for _, query := range []string{"pixels=64&from=130", "pixels=64&height=20", "pixels=64&metal=copper", "pixels=64&room=softbox", "pixels=64&land=frosted", "pixels=64&enamel=blue:0.2", "pixels=64&lamp=tungsten", "pixels=64&lamp=off", "pixels=64&wide=60", "pixels=64&eye=100", "pixels=64&tilt=12&toward=90", "pixels=64&exposure=-1", "pixels=64&upto=3", "pixels=64&upto=0", "pixels=64&across=2&centre=1,0"} {
		_, raw := draw(query)
		if other := seen[string(raw)]; other != "" {
			t.Errorf("%s is the same picture as %s", query, other)
		}
		seen[string(raw)] = query
	}
	v := b.job("hobnail")
	img, _ = draw("dpi=60")
	if want := math.Ceil(max(v.Outline.WidthMM, v.Outline.HeightMM) * 1.08 / 25.4 * 60); math.Abs(float64(img.Bounds().Dx())-want) > 2 {
		t.Errorf("%d pixels at 60 to the inch, want about %v", img.Bounds().Dx(), want)
	}
	for _, query := range []string{"pixels=1e9", "pixels=9000", "pixels=0", "pixels=64&from=NaN", "pixels=64&height=91", "pixels=64&centre=1", "pixels=64&centre=NaN,0",
		"pixels=64&across=-1", "pixels=64&upto=-1", "pixels=64&upto=99999", "pixels=64&metal=cheese", "pixels=64&room=cellar", "pixels=64&land=rusty", "pixels=64&enamel=blue:thin", "pixels=64&enamel=blue:99", "pixels=64&lamp=candle", "pixels=64&eye=1", "pixels=64&wide=0.5", "pixels=64&wide=80", "pixels=64&tilt=60", "pixels=64&toward=up", "pixels=64&exposure=NaN", "pixels=64&height=0", "pixels=64&samples=99", "dpi=1e308", "dpi=2400&across=Inf"} {
		b.problem(400, "request", "GET", "/api/jobs/hobnail/picture.png?"+query, nil)
	}
	b.want(200, "GET", "/api/patterns/hobnail/picture.png?pixels=32", nil, nil)
	b.problem(404, "not-found", "GET", "/api/patterns/nothing/picture.png", nil)
}

// Of one client's pictures only the newest is drawn; another client's is left
// alone.
func TestEasel(t *testing.T) {
	var e easel
	ctx := context.Background()
	first, leave, err := e.come(ctx, "page", 600)
	if err != nil {
		t.Fatal(err)
	}
	type came struct {
		leave func()
		err   error
	}
	ask := func(client string) chan came {
		c := make(chan came, 1)
		go func() {
			_, leave, err := e.come(ctx, client, 600)
			c <- came{leave, err}
		}()
		return c
	}
	other := ask("another")
	second := ask("page")
	<-first.Done() // the first is given up
	var p *problem
	if !errors.As(context.Cause(first), &p) || p.Type != "/problems/superseded" {
		t.Error(context.Cause(first))
	}
	third := ask("page")
	if got := <-second; !errors.As(got.err, &p) || p.Type != "/problems/superseded" {
		t.Error("the second waits on: ", got.err)
	}
	leave()
	for range 2 {
		select {
		case got := <-other:
			if got.err != nil {
				t.Fatal(got.err)
			}
			got.leave()
		case got := <-third:
			if got.err != nil {
				t.Fatal(got.err)
			}
			got.leave()
		case <-time.After(5 * time.Second):
			t.Fatal("nobody may draw")
		}
	}
	_, large, err := e.come(ctx, "page", 4000)
	if err != nil {
		t.Fatal(err)
	}
	_, small, err := e.come(ctx, "page", 100) // the large one holds up no small one, nor is it given up
	if err != nil {
		t.Fatal(err)
	}
	small()
	large()
	if len(e.newest) != 0 {
		t.Errorf("%d turns are left", len(e.newest))
	}
}

func TestSection(t *testing.T) {
	b := newBench(t)
	var got struct {
		LengthMM float64   `json:"length_mm"`
		Heights  []float64 `json:"heights_um"`
		Flat     bool      `json:"flat"`
	}
	b.want(200, "GET", "/api/jobs/barleycorn/section?ax=-3&ay=-1&bx=3&by=1&n=400", nil, &got)
	j, err := job.ReadFS(examples.Workshop, "barleycorn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	list, err := j.Cuts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	carver, err := surface.NewCarver(list.Cuts, j.Setup.Cutter)
	if err != nil {
		t.Fatal(err)
	}
	z, err := carver.Section(context.Background(), r2.Vec{X: -3, Y: -1}, r2.Vec{X: 3, Y: 1}, 400)
	if err != nil {
		t.Fatal(err)
	}
	for i := range z {
		if math.Abs(got.Heights[i]-1000*z[i]) > 0.0006 {
			t.Fatalf("place %d: %v µm, want %v", i, got.Heights[i], 1000*z[i])
		}
	}
	if len(got.Heights) != 400 || math.Abs(got.LengthMM-math.Hypot(6, 2)) > 1e-12 || got.Flat {
		t.Errorf("%d heights over %v mm", len(got.Heights), got.LengthMM)
	}
	b.want(200, "GET", "/api/jobs/barleycorn/section?ax=-15&ay=-10&bx=15&by=-10&n=2", nil, &got)
	if !got.Flat {
		t.Error("the edge is not flat")
	}
	for _, query := range []string{"", "ax=0&ay=0&bx=0&by=0", "ax=NaN&ay=0&bx=1&by=0", "ax=0&ay=0&bx=1e300&by=0", "ax=0&ay=0&bx=1&by=0&n=1", "ax=0&ay=0&bx=1&by=0&n=99999999"} {
		b.problem(400, "request", "GET", "/api/jobs/barleycorn/section?"+query, nil)
	}
}

func TestPapers(t *testing.T) {
	b := newBench(t)
	res, page := b.do("GET", "/api/jobs/barleycorn/sheet.html", nil)
	policy := res.Header.Get("Content-Security-Policy")
	if res.StatusCode != 200 || !strings.Contains(string(page), "Barleycorn panel") || !strings.Contains(policy, "style-src 'sha256-") || strings.Contains(policy, "unsafe") || strings.Contains(string(page), "style=") {
		t.Errorf("%d %s", res.StatusCode, policy)
	}
	if text := b.want(200, "GET", "/api/jobs/barleycorn/sheet.txt", nil, nil); !bytes.Contains(text, []byte("160 strokes")) {
		t.Errorf("%.200s", text)
	}
	a4 := b.want(200, "GET", "/api/jobs/barleycorn/sheet.pdf", nil, nil)
	letter := b.want(200, "GET", "/api/jobs/barleycorn/sheet.pdf?paper=letter", nil, nil)
	if !bytes.HasPrefix(a4, []byte("%PDF-")) || !bytes.HasPrefix(letter, []byte("%PDF-")) || bytes.Equal(a4, letter) {
		t.Error("the PDFs are none, or the same")
	}
	b.problem(400, "request", "GET", "/api/jobs/barleycorn/sheet.pdf?paper=b5", nil)
	var figures surface.Figures
	b.want(200, "GET", "/api/jobs/barleycorn/figures", nil, &figures)
	// 130°: width 2·tan 65°·depth (docs: the trade's formula).
	if want := 2 * math.Tan(65*math.Pi/180) * 0.045; math.Abs(figures.GrooveWidth-want) > 1e-6 || figures.Strokes != 160 {
		t.Errorf("%+v", figures)
	}
}

func TestBar(t *testing.T) {
	b := newBench(t)
	var v barView
	b.want(200, "GET", "/api/jobs/barleycorn/bar?n=121", nil, &v)
	// Sine of amplitude 0.25 and wave 3: smallest hollow λ²/(4π²a), steepest atan(2πa/λ).
	if v.Bar != "fine-sine" || v.Unit != "mm" || math.Abs(v.Period-3) > 1e-12 || len(v.At) != 121 || math.Abs(*v.SmallestHollowMM-9/(math.Pi*math.Pi)) > 1e-9 ||
		math.Abs(v.SteepestEdgeDeg-math.Atan(2*math.Pi*0.25/3)*180/math.Pi) > 1e-6 || len(v.Lost) != 0 || v.Field != "bar" {
		t.Errorf("%+v", v)
	}
	if math.Abs(v.EdgeMM[30]-0.25) > 1e-6 { // a quarter of a wave on
		t.Errorf("the crest is %v", v.EdgeMM[30])
	}
	drawn := m{"points": [][]float64{{0, 0}, {1, 0.3}, {2, -0.2}, {3, 0}}, "spline": true}
	var try barView
	b.want(200, "POST", "/api/jobs/barleycorn/bar/try", drawn, &try)
	if try.Figure != "points" || len(try.Points) != 4 || math.Abs(try.Period-3) > 1e-9 {
		t.Errorf("%+v", try)
	}
	job := b.job("barleycorn")
	if job.Text != b.file("barleycorn.yaml") || strings.Contains(b.file("bars/fine-sine.yaml"), "points") {
		t.Error("a try was written")
	}
	drawn["if_revision"] = job.Revision
	b.problem(409, "in-part", "POST", "/api/jobs/barleycorn/bar/points", drawn)
	drawn["scope"], drawn["part_name"] = "copy", "By hand"
	var after view
	b.want(200, "POST", "/api/jobs/barleycorn/bar/points", drawn, &after)
	if len(after.Faults) > 0 || !strings.Contains(after.Text, "\nbar: by-hand\n") {
		t.Fatalf("%+v\n%s", after.Faults, b.file("bars/by-hand.yaml"))
	}
	b.want(200, "GET", "/api/jobs/barleycorn/bar", nil, &v)
	if v.Figure != "points" || fmt.Sprint(v.Points) != "[[0 0] [1 0.3] [2 -0.2] [3 0]]" || !v.Spline || v.EdgeMM[300] != try.EdgeMM[300] {
		t.Errorf("%+v", v.Points)
	}
	// On a rosette points go by degrees; in an inch workshop the file has inches.
	for _, id := range []string{"concentric-waves", "inch-barleycorn"} {
		one := b.job(id)
		points := [][]float64{{0, 0}, {4, 0.02}, {8, -0.01}, {30, 0}}
		b.want(200, "POST", "/api/jobs/"+id+"/bar/points", m{"points": points, "if_revision": one.Revision, "scope": "part"}, &after)
		if len(after.Faults) > 0 {
			t.Errorf("%s: %+v", id, after.Faults)
			continue
		}
		b.want(200, "GET", "/api/jobs/"+id+"/bar", nil, &v)
		if len(v.Points) != 4 || math.Abs(v.Points[1][0]-4) > 1e-4 || math.Abs(v.Points[1][1]-0.02) > 1e-5*25.4 {
			t.Errorf("%s: %+v", id, v.Points)
		}
	}
	b.problem(422, "faults", "POST", "/api/jobs/barleycorn/bar/try", m{"points": [][]float64{{1, 0}, {0, 0}}})
	b.problem(400, "request", "POST", "/api/jobs/barleycorn/bar/try", m{"points": [][]float64{{1, 0}}})
	b.problem(404, "not-found", "GET", "/api/jobs/barleycorn/bar?name=none", nil)
	b.problem(404, "not-found", "GET", "/api/jobs/sunburst/bar", nil)
}

func TestDepth(t *testing.T) {
	b := newBench(t)
	var d depthView
	b.want(200, "GET", "/api/jobs/bowed-dial/depth", nil, &d)
	if len(d.Cuts) != 360 || len(d.Choices) == 0 || len(d.Holds) < 2 || len(d.Compared) < 3 || !d.Closed || math.Abs(d.WishedDepthUM-45) > 1e-9 {
		t.Errorf("%d cuts, %d choices, %d holds, %d ways", len(d.Cuts), len(d.Choices), len(d.Holds), len(d.Compared))
	}
	var p placesView
	b.want(200, "GET", "/api/jobs/bowed-dial/depth/places?cut=100", nil, &p)
	if len(p.At) < 100 || len(p.Ground) != len(p.At) || p.Reference[0] == "" {
		t.Errorf("%d places", len(p.At))
	}
	b.problem(404, "not-found", "GET", "/api/jobs/bowed-dial/depth/places?cut=361", nil)
	res, raw := b.do("GET", "/api/jobs/bowed-dial/depth/map.png?pixels=200", nil)
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil || img.Bounds().Dx() != 200 || strings.Count(res.Header.Get("Brightcut-Scale"), ",") != 2 {
		t.Errorf("%v, %s", err, res.Header.Get("Brightcut-Scale"))
	}
	planned := b.want(200, "GET", "/api/jobs/bowed-dial/depth/cuts.bin", nil, nil)
	if wished := b.want(200, "GET", "/api/jobs/bowed-dial/cuts.bin", nil, nil); bytes.Equal(planned, wished) || string(planned[:4]) != "BCUT" {
		t.Error("the plan has changed nothing")
	}
	if text := b.want(200, "GET", "/api/jobs/bowed-dial/sheet.txt", nil, nil); !bytes.Contains(text, []byte("stop")) {
		t.Error("the sheet says nothing of the stop")
	}
	var tr truingView
	b.want(200, "GET", "/api/jobs/bowed-dial/truing", nil, &tr)
	if len(tr.Turns) == 0 || len(tr.Turns) != len(tr.Screws) || len(tr.Expect) == 0 || tr.Before.PeakToValleyUM <= 0 || tr.More == nil {
		t.Errorf("%+v", tr)
	}
	b.problem(404, "not-found", "GET", "/api/jobs/barleycorn/truing", nil)
}

func TestReadings(t *testing.T) {
	b := newBench(t)
	csv := "x mm,y mm,z um\n"
	for i := range 40 {
		x, y := 12*math.Cos(float64(i)), 12*math.Sin(float64(i)*1.7)
		csv += fmt.Sprintf("%.2f,%.2f,%.1f\n", x, y, 3*x-x*x/4)
	}
	send := func(query, text string) (int, []byte) {
		res, body := b.do("POST", "/api/jobs/sunburst/readings"+query, strings.NewReader(text), "Content-Type", "text/csv")
		return res.StatusCode, body
	}
	v := b.job("sunburst")
	status, body := send("?check=1", csv)
	if status != 200 || !bytes.Contains(body, []byte(`"places":40`)) || b.file("sunburst.yaml") != v.Text {
		t.Fatalf("%d %s", status, body)
	}
	if status, body = send("?if_revision="+v.Revision, csv); status != 200 {
		t.Fatalf("%d %s", status, body)
	}
	var after view
	if err := json.Unmarshal(body, &after); err != nil || len(after.Faults) > 0 || !after.Has.Depth || b.file("readings/sunburst.csv") != csv {
		t.Fatalf("%v %+v", err, after.Faults)
	}
	if status, _ = send("?if_revision="+v.Revision, csv); status != 409 {
		t.Errorf("an old revision: %d", status)
	}
	if status, _ = send("", csv); status != 400 {
		t.Errorf("no revision: %d", status)
	}
	// More readings are a file of their own; the text before brings the older ones back.
	if status, body = send("?if_revision="+after.Revision, csv+"0,0,0.5\n"); status != 200 {
		t.Fatalf("%d %s", status, body)
	}
	if err := json.Unmarshal(body, &after); err != nil || b.file("readings/sunburst.csv") != csv || b.file("readings/sunburst-2.csv") != csv+"0,0,0.5\n" ||
		!strings.Contains(after.Text, "readings: sunburst-2") {
		t.Errorf("%v\n%s", err, after.Text)
	}
	status, body = send("?if_revision="+after.Revision, "x,y,z\n1,2,three\n")
	var p problem
	if json.Unmarshal(body, &p); status != 422 || len(p.Faults) == 0 || p.Faults[0].Line != 2 {
		t.Errorf("%d %s", status, body)
	}
}

func TestCache(t *testing.T) {
	c := newCache(10, func(s string) int { return len(s) })
	ctx := context.Background()
	makes := 0
	get := func(key, value string) string {
		v, err := c.get(ctx, ctx, key, func(context.Context) (string, error) { makes++; return value, nil })
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	get("a", "1234")
	get("b", "1234")
	if get("a", "other") != "1234" || makes != 2 {
		t.Error("not kept")
	}
	get("c", "1234") // b is the longest unused
	if get("a", "x") != "1234" || get("b", "y") != "y" {
		t.Error("the wrong one went")
	}
	get("huge", strings.Repeat("x", 100))
	if c.sum > 10 || len(c.kept) == 0 {
		t.Errorf("it holds %d", c.sum)
	}
	// Many want one thing: it is made once, and given up when none waits.
	began, ended := make(chan bool), make(chan error, 1)
	slow := func(ctx context.Context) (string, error) {
		close(began)
		<-ctx.Done()
		ended <- ctx.Err()
		return "", ctx.Err()
	}
	one, stop := context.WithCancel(ctx)
	two, stopTwo := context.WithCancel(ctx)
	out := make(chan error, 2)
	go func() { _, err := c.get(one, ctx, "slow", slow); out <- err }()
	<-began
	go func() { _, err := c.get(two, ctx, "slow", slow); out <- err }()
	for {
		c.mu.Lock()
		n := c.flights["slow"].waiting
		c.mu.Unlock()
		if n == 2 {
			break
		}
		time.Sleep(time.Millisecond)
	}
	stop()
	if err := <-out; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	select {
	case <-ended:
		t.Error("given up while one still waits")
	case <-time.After(20 * time.Millisecond):
	}
	stopTwo()
	<-out
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	if _, err := c.get(ctx, ctx, "trips", func(context.Context) (string, error) { panic("oh") }); err == nil || !strings.Contains(err.Error(), "oh") {
		t.Error(err)
	}
}

var _ http.Handler = (*Server)(nil)
