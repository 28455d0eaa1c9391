package main

import (
	"fmt"
	"image"
	"io"
	"math"
	"path/filepath"
	"strings"
	"time"

	"brightcut/internal/whole"
	"brightcut/light"
	"brightcut/surface"
)

type filmCommand struct {
	Job     string  `arg:"" help:"Job file."`
	Out     string  `required:"" short:"o" placeholder:"FILE.png" help:"Where to write the film."`
	Move    string  `default:"lamp" enum:"lamp,height,rock" help:"What moves: the lamp round the work, the lamp up and down, or the piece, rocked in the hand (${default})."`
	Frames  int     `default:"36" help:"Frames (${default})."`
	Seconds float64 `default:"4" help:"How long it takes (${default})."`
	Times   int     `default:"0" help:"How often it is shown; 0 is for ever (${default})."`
	Pixels  int     `default:"600" help:"Pixels along the longer side (${default})."`
	Samples int     `default:"4" help:"Samples along each side of a pixel (${default})."`
	Still   bool    `help:"Write the frames side by side in one picture instead."`
	sceneFlags
}

func (filmCommand) Help() string {
	return `The film is an animated PNG, which browsers show; other programs show its first
picture. It ends where it began. With --move rock the piece leans by --tilt
(8 degrees if that is left out) and the side that goes down goes round. Frames of
more than some 700 pixels are carved anew each time and take longer. --still writes
rows of pictures, whatever --seconds and --times say. Examples:

  brightcut film barleycorn.yaml --out barleycorn.png
  brightcut film barleycorn.yaml --out rocked.png --move rock --tilt 10 --room window
  brightcut film barleycorn.yaml --out strip.png --move height --frames 8 --still --pixels 240`
}

// Bounds of a film: longer ones are of no use, and take hours.
const (
	mostFrames    = 720
	usualRocking  = 8  // degrees
	lowestOfMoves = 15 // degrees above the work, of a lamp that goes up and down
)

func (c filmCommand) Run(b console) error {
	if !strings.EqualFold(filepath.Ext(c.Out), ".png") {
		return usage("--out %s: films are written as animated PNG; end the name in .png", c.Out)
	}
	if c.Frames < 2 || c.Frames > mostFrames {
		return usage("--frames %d: give 2 to %d", c.Frames, mostFrames)
	}
	each := time.Duration(c.Seconds / float64(c.Frames) * float64(time.Second)).Round(time.Millisecond)
	if !(c.Seconds > 0) || each < time.Millisecond || each > time.Minute {
		return usage("--seconds %v: each of %d frames would stand for %v; give a time that leaves each between a millisecond and a minute", c.Seconds, c.Frames, each)
	}
	if c.Times < 0 {
		return usage("--times %d: give how often the film is shown, or 0 for ever", c.Times)
	}
	j, list, _, err := readPlanned(b, c.Job)
	if err != nil {
		return err
	}
	first, err := c.scene(j)
	if err != nil {
		return err
	}
	if c.Move != "rock" && !first.Lit() {
		return usage("--move %s: no lamp burns there; light it with --lamp on, or rock the piece with --move rock", c.Move)
	}
	view := light.Whole(&j.Setup.Blank, c.Pixels)
	view.Samples = c.Samples
	if err := view.Check(); err != nil {
		return err
	}
	if err := hasFolder(c.Out); err != nil {
		return err
	}
	carver, err := surface.NewCarver(list.Cuts, j.Setup.Cutter)
	if err != nil {
		return err
	}
	about := fmt.Sprintf("%d frames: %s, beginning with %s", c.Frames, movements[c.Move], c.moved(first, 0))
	told, stop := progress(b, "Lighting the frames")
	defer stop()
	film := func(hand func(int, *image.NRGBA) error) error {
		return light.Film(b, view, carver, &j.Setup.Blank, c.Frames, func(i int) light.Scene { return c.moved(first, i) }, func(i int, img *image.NRGBA) error {
			told(i+1, c.Frames)
			return hand(i, img)
		})
	}
	if c.Still {
		across := c.Frames
		for across*view.W > 3600 && across > 1 {
			across = (across + 1) / 2
		}
		page, err := newContact(view.W, view.H, across, (c.Frames+across-1)/across)
		if err != nil {
			return err
		}
		err = film(func(i int, img *image.NRGBA) error {
			page.put(i%across, i/across, img, c.told(c.moved(first, i)))
			return nil
		})
		if err != nil {
			return err
		}
		page.foot(about)
		return whole.Write(c.Out, func(w io.Writer) error { return light.WritePNG(w, page.image, view.Pixel(), about) })
	}
	return whole.Write(c.Out, func(w io.Writer) error {
		reel, err := light.NewReel(w, c.Frames, c.Times, each, view.Pixel(), about)
		if err != nil {
			return err
		}
		if err := film(func(_ int, img *image.NRGBA) error { return reel.Frame(img) }); err != nil {
			return err
		}
		return reel.Close()
	})
}

// movements says what moves in a film.
var movements = map[string]string{
	"lamp": "the lamp goes once round", "height": "the lamp goes up and down again", "rock": "the piece is rocked once round",
}

// moved is the scene of frame i; after the last comes the first again.
func (c filmCommand) moved(s light.Scene, i int) light.Scene {
	turn := 2 * math.Pi * float64(i) / float64(c.Frames)
	switch c.Move {
	case "lamp":
		s.Lamp.Azimuth += turn
	case "height":
		low, high := lowestOfMoves*math.Pi/180, math.Pi/2
		s.Lamp.Elevation = low + (high-low)*(1-math.Cos(turn))/2
	case "rock":
		if s.Eye.Tilt == 0 {
			s.Eye.Tilt = usualRocking * math.Pi / 180
		}
		s.Eye.Toward += turn
	}
	return s
}

// told says what is particular to a frame.
func (c filmCommand) told(s light.Scene) string {
	deg := func(rad float64) float64 { return math.Mod(math.Round(rad*180/math.Pi), 360) }
	switch c.Move {
	case "lamp":
		return fmt.Sprintf("lamp from %v°", deg(s.Lamp.Azimuth))
	case "height":
		return fmt.Sprintf("lamp %v° high", deg(s.Lamp.Elevation))
	}
	return fmt.Sprintf("leaned toward %v°", deg(s.Eye.Toward))
}
