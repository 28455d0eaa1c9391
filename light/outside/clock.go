package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"sync"
	"time"

	"brightcut/examples"
	"brightcut/job"
	"brightcut/light"
	"brightcut/surface"
)

// clock times one picture of an example by both, of as many pixels and samples: by the
// renderer from a field of heights under the smooth sky, the finest that it takes in
// reasonable time, and by package light in the workshop, each with all that it makes
// ready.
func clock() error {
	j, err := job.ReadFS(examples.Workshop, "barleycorn.yaml")
	if err != nil {
		return err
	}
	ctx := context.Background()
	list, err := j.Cuts(ctx)
	if err != nil {
		return err
	}
	carver, err := surface.NewCarver(list.Cuts, j.Setup.Cutter)
	if err != nil {
		return err
	}
	scene, err := j.Scene()
	if err != nil {
		return err
	}
	view := light.Whole(&j.Setup.Blank, 1200)
	start := time.Now()
	if _, err := light.Render(ctx, view, carver, &j.Setup.Blank, scene, nil); err != nil {
		return err
	}
	own := time.Since(start)

	folder, err := os.MkdirTemp("", "clock")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	const across = 2048
	high := across * view.H / view.W
	grid := surface.Grid{X0: view.Centre.X - view.Width/2, Cell: view.Width / across, Nx: across, Ny: high}
	grid.Y0 = view.Centre.Y - grid.Cell*float64(high)/2
	heights := image.NewGray16(image.Rect(0, 0, across, high))
	deep := j.Setup.Depth * 1.05
	var mu sync.Mutex
	err = carver.Bands(ctx, grid, false, func(b surface.Band) error {
		mu.Lock()
		defer mu.Unlock()
		for y := range b.Rows {
			for x := range across {
				v := min(max(1+float64(b.Z[y*b.Stride+x])/deep, 0), 1)
				// Rows of the file run downwards.
				heights.SetGray16(x, high-1-b.Row-y, color.Gray16{Y: uint16(v * 65535)})
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	field := filepath.Join(folder, "field.png")
	var file bytes.Buffer
	if err := png.Encode(&file, heights); err != nil {
		return err
	}
	if err := os.WriteFile(field, file.Bytes(), 0o644); err != nil {
		return err
	}
	w, h := view.Width, view.Width*float64(view.H)/float64(view.W)
	scenery := head + camera(0, 0, w, h) + fmt.Sprintf(
		"height_field { png %q translate <-0.5, -1, -0.5> scale <%g, %g, %g> rotate <90, 0, 0> texture { Mirror } }\n", field, w, deep, h)
	start = time.Now()
	if _, err := render(scenery, view.W, view.H, 4); err != nil {
		return err
	}
	outside := time.Since(start)
	fmt.Printf("%d × %d pixels at 4 × 4: the renderer %.2f s, light %.2f s, %.1f to 1\n", view.W, view.H, outside.Seconds(), own.Seconds(), outside.Seconds()/own.Seconds())
	return nil
}
