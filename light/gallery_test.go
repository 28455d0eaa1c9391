package light

import (
	"os"
	"path/filepath"
	"testing"
)

// TestGallery writes pictures to look at, into the folder that GALLERY names: the
// workloads whole and from near, in three metals.
func TestGallery(t *testing.T) {
	dir := os.Getenv("GALLERY")
	if dir == "" {
		t.Skip("GALLERY names no folder for the pictures")
	}
	for _, w := range workloads() {
		k := carved(t, w.cuts, 130)
		for _, name := range []string{"silver", "gold", "copper"} {
			near := Whole(w.blank, 1200)
			near.Width, near.H, near.Centre.Y = 5, 1200, near.Centre.Y+6
			for view, v := range map[string]View{"whole": Whole(w.blank, 1200), "near": near} {
				img, err := Render(t.Context(), v, k, w.blank, DefaultScene(metal(t, name)), nil)
				if err != nil {
					t.Fatal(err)
				}
				f, err := os.Create(filepath.Join(dir, w.name+"-"+view+"-"+name+".png"))
				if err != nil {
					t.Fatal(err)
				}
				if err := WritePNG(f, img, v.Pixel(), ""); err != nil {
					t.Fatal(err)
				}
				if err := f.Close(); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}
