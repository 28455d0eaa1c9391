package main

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"brightcut/fault"
	"brightcut/internal/whole"
	"brightcut/job"
	"brightcut/light"
	"brightcut/surface"
)

type contactCommand struct {
	Job     string    `arg:"" help:"Job file."`
	Out     string    `required:"" short:"o" placeholder:"FILE.png" help:"Where to write the contact sheet."`
	Metals  []string  `placeholder:"METAL" help:"Metals to try, divided by commas."`
	Rooms   []string  `placeholder:"ROOM" help:"Rooms to try."`
	Lands   []string  `placeholder:"FINISH" help:"Finishes of the ground to try."`
	Enamels []string  `placeholder:"COLOUR" help:"Enamels to try; none is one."`
	Froms   []float64 `placeholder:"DEG" help:"Directions of the lamp to try."`
	Heights []float64 `placeholder:"DEG" help:"Heights of the lamp to try."`
	Cutters []float64 `placeholder:"DEG" help:"Included angles of the cutter to try, at the job's depth."`
	Depths  []float64 `placeholder:"UM" help:"Depths of the cuts to try, micrometres."`
	Pixels  int       `default:"300" help:"Pixels along the longer side of each picture (${default})."`
	Samples int       `default:"4" help:"Samples along each side of a pixel (${default})."`
	sceneFlags
}

func (contactCommand) Help() string {
	return `One or two of the lists give the columns and the rows; all else is as in the job or
as the other flags have it, and the exposure is the same in all pictures. Examples:

  brightcut contact barleycorn.yaml --out metals.png --metals silver,gold,copper --rooms workshop,overcast
  brightcut contact barleycorn.yaml --out angles.png --cutters 110,130,150 --heights 20,40,60`
}

// mostPictures bounds a contact sheet.
const mostPictures = 400

// trial is one of a list of things to try: the flag of the list, what it is called and
// what it changes.
type trial struct {
	flag  string
	name  string
	scene func(light.Scene) (light.Scene, error)
	job   func(*job.Job) // nil where the cuts stay as they are
}

func (c contactCommand) Run(b console) error {
	if !strings.EqualFold(filepath.Ext(c.Out), ".png") {
		return usage("--out %s: contact sheets are written as PNG; end the name in .png", c.Out)
	}
	lists := c.lists()
	if n := len(lists); n < 1 || n > 2 {
		return usage("%d lists are given; one gives the columns, a second the rows: --metals, --rooms, --lands, --enamels, --froms, --heights, --cutters, --depths", n)
	}
	columns, rows := lists[0], []trial{{}}
	if len(lists) == 2 {
		rows = lists[1]
	}
	if len(columns)*len(rows) > mostPictures {
		return usage("%d pictures are more than a sheet holds; give at most %d", len(columns)*len(rows), mostPictures)
	}
	j, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	if _, err := j.Scene(); err != nil && c.Metal == "" && len(c.Metals) > 0 {
		c.Metal = "silver" // the job's own is not looked at
	}
	plain, err := c.scene(j)
	if err != nil {
		return err
	}
	if err := c.check(j, plain, columns, rows); err != nil {
		return err
	}
	view := light.Whole(&j.Setup.Blank, c.Pixels)
	view.Samples = c.Samples
	if err := view.Check(); err != nil {
		return err
	}
	if err := hasFolder(c.Out); err != nil {
		return err
	}
	page, err := newContact(view.W, view.H, len(columns), len(rows))
	if err != nil {
		return err
	}
	told, stop := progress(b, "Lighting the pictures")
	defer stop()
	for y, row := range rows {
		for x, column := range columns {
			name := column.name
			if row.name != "" {
				name += ", " + row.name
			}
			img, err := c.picture(b, view, plain, column, row)
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			page.put(x, y, img, name)
			told(y*len(columns)+x+1, len(columns)*len(rows))
		}
	}
	page.foot("Otherwise: " + plain.String())
	about := "columns: " + named(columns)
	if rows[0].flag != "" {
		about += "; rows: " + named(rows)
	}
	about += "; otherwise: " + plain.String()
	return whole.Write(c.Out, func(w io.Writer) error { return light.WritePNG(w, page.image, view.Pixel(), about) })
}

func named(trials []trial) string {
	var names []string
	for _, t := range trials {
		names = append(names, t.name)
	}
	return strings.Join(names, ", ")
}

// check finds what is wrong with any of the trials before the first picture is made.
func (c contactCommand) check(j *job.Job, plain light.Scene, columns, rows []trial) error {
	for _, v := range c.Cutters {
		tool := j.Setup.Cutter
		tool.Included = v * math.Pi / 180
		if f := tool.Check(); len(f) > 0 {
			return usage("--cutters %v: %s; %s", v, f[0].Problem, f[0].Mend)
		}
	}
	for _, v := range c.Depths {
		if !(v > 0 && v/1000 < j.Setup.Blank.Thickness) {
			return usage("--depths %v: a cut so deep is none in a blank of %v mm; give micrometres above 0 and less than that", v, j.Setup.Blank.Thickness)
		}
	}
	for _, row := range rows {
		for _, column := range columns {
			s, flag := plain, ""
			for _, t := range []trial{column, row} {
				if t.scene == nil {
					continue
				}
				var err error
				if s, err = t.scene(s); err == nil {
					err = s.Check()
				}
				var list fault.List
				if errors.As(err, &list) {
					return usage("--%s %s: %s; %s", t.flag, t.name, list[0].Problem, list[0].Mend)
				}
				if t.flag == "froms" || t.flag == "heights" {
					flag = t.flag
				}
			}
			if flag != "" && !s.Lit() {
				return usage("--%s: no lamp burns in the room %s; light it with --lamp on", flag, s.Room.Name)
			}
		}
	}
	return nil
}

// picture makes one picture of the sheet. The job is read anew, so that one trial
// leaves nothing behind for the next.
func (c contactCommand) picture(b console, view light.View, s light.Scene, trials ...trial) (image.Image, error) {
	j, err := job.Read(c.Job)
	if err != nil {
		return nil, err
	}
	for _, t := range trials {
		if t.job != nil {
			t.job(j)
		}
		if t.scene != nil {
			if s, err = t.scene(s); err != nil {
				return nil, err
			}
		}
	}
	list, err := j.Cuts(b)
	if err != nil {
		return nil, err
	}
	carver, err := surface.NewCarver(list.Cuts, j.Setup.Cutter)
	if err != nil {
		return nil, err
	}
	return light.Render(b, view, carver, &j.Setup.Blank, s, nil)
}

// lists are the lists that were given, in the order of the flags.
func (c contactCommand) lists() (all [][]trial) {
	add := func(flag string, list []trial) {
		for i := range list {
			list[i].flag = flag
		}
		if len(list) > 0 {
			all = append(all, list)
		}
	}
	worded := func(names []string, put func(*light.Words, string)) (list []trial) {
		for _, n := range names {
			list = append(list, trial{name: n, scene: func(s light.Scene) (light.Scene, error) {
				var w light.Words
				put(&w, n)
				return w.Onto(s)
			}})
		}
		return list
	}
	measured := func(values []float64, name string, put func(*light.Scene, float64)) (list []trial) {
		for _, v := range values {
			list = append(list, trial{name: fmt.Sprintf(name, v), scene: func(s light.Scene) (light.Scene, error) {
				put(&s, v)
				return s, nil
			}})
		}
		return list
	}
	cut := func(values []float64, name string, put func(*job.Job, float64)) (list []trial) {
		for _, v := range values {
			list = append(list, trial{name: fmt.Sprintf(name, v), job: func(j *job.Job) { put(j, v) }})
		}
		return list
	}
	const deg = math.Pi / 180
	add("cutters", cut(c.Cutters, "cutter of %v°", func(j *job.Job, v float64) { j.Setup.Cutter.Included = v * deg }))
	add("depths", cut(c.Depths, "%v µm deep", func(j *job.Job, v float64) { j.Setup.Depth = v / 1000 }))
	add("metals", worded(c.Metals, func(w *light.Words, n string) { w.Metal = n }))
	add("lands", worded(c.Lands, func(w *light.Words, n string) { w.Land = n }))
	add("enamels", worded(c.Enamels, func(w *light.Words, n string) { w.Enamel = n }))
	add("rooms", worded(c.Rooms, func(w *light.Words, n string) { w.Room = n }))
	add("froms", measured(c.Froms, "lamp from %v°", func(s *light.Scene, v float64) { s.Lamp.Azimuth = v * deg }))
	add("heights", measured(c.Heights, "lamp %v° high", func(s *light.Scene, v float64) { s.Lamp.Elevation = v * deg }))
	return all
}

// contact is a sheet of pictures with a line of words under each.
type contact struct {
	image *image.NRGBA
	w, h  int // of a picture
	face  font.Face
}

const (
	contactGap   = 8  // pixels between the pictures
	contactWords = 24 // for the words under one
)

var (
	contactGround = color.NRGBA{0x16, 0x17, 0x1a, 0xff}
	contactInk    = color.NRGBA{0xd8, 0xd4, 0xcc, 0xff}
)

// newContact is an empty sheet for so many pictures of a checked view.
func newContact(w, h, columns, rows int) (*contact, error) {
	wide, high := contactGap+columns*(w+contactGap), contactGap+rows*(h+contactWords+contactGap)+2*contactWords
	if wide*high > light.MaxPixels {
		return nil, fmt.Errorf("a sheet of %d × %d pixels is larger than can be held; make fewer pictures, or smaller ones with --pixels", wide, high)
	}
	c := &contact{w: w, h: h, image: image.NewNRGBA(image.Rect(0, 0, wide, high))}
	draw.Draw(c.image, c.image.Bounds(), image.NewUniform(contactGround), image.Point{}, draw.Src)
	f, err := opentype.Parse(goregular.TTF)
	if err == nil {
		c.face, err = opentype.NewFace(f, &opentype.FaceOptions{Size: 14, DPI: 72, Hinting: font.HintingFull})
	}
	if err != nil {
		panic("contact: the font within the program: " + err.Error())
	}
	return c, nil
}

// hasFolder says whether a file can be put where its name says, before long work is
// done for it.
func hasFolder(file string) error {
	if _, err := os.Stat(filepath.Dir(file)); err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	return nil
}

// put lays a picture in its column and row, and says what it is.
func (c *contact) put(column, row int, img image.Image, words string) {
	at := image.Pt(contactGap+column*(c.w+contactGap), contactGap+row*(c.h+contactWords+contactGap))
	draw.Draw(c.image, image.Rectangle{at, at.Add(image.Pt(c.w, c.h))}, img, img.Bounds().Min, draw.Src)
	c.write(at.X, at.Y+c.h+17, c.w, words)
}

// foot says below all pictures what they have in common.
func (c *contact) foot(words string) {
	width := c.image.Bounds().Dx() - 2*contactGap
	line, y := "", c.image.Bounds().Dy()-contactWords-8
	for _, word := range strings.Fields(words) {
		if line != "" && c.width(line+" "+word) > width && y < c.image.Bounds().Dy()-contactWords {
			c.write(contactGap, y, width, line)
			line, y = "", y+contactWords-4
		}
		line = strings.TrimSpace(line + " " + word)
	}
	c.write(contactGap, y, width, line)
}

func (c *contact) width(words string) int { return font.MeasureString(c.face, words).Ceil() }

// write writes a line, cut short where it would run over.
func (c *contact) write(x, y, width int, words string) {
	for r := []rune(words); c.width(words) > width && len(r) > 1; {
		r = r[:len(r)-1]
		words = string(r) + "…"
	}
	d := font.Drawer{Dst: c.image, Src: image.NewUniform(contactInk), Face: c.face, Dot: fixed.P(x, y)}
	d.DrawString(words)
}
