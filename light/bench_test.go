package light

import (
	"hash/crc32"
	"testing"
)

// BenchmarkPicture makes 1200 × 1200 pictures of the three workloads at 4×4
// samples, the lamp's table included.
func BenchmarkPicture(b *testing.B) {
	for _, w := range workloads() {
		b.Run(w.name, func(b *testing.B) {
			k, s := carved(b, w.cuts, 130), DefaultScene(metal(b, "silver"))
			v := Whole(w.blank, 1200)
			var sum uint32
			for b.Loop() {
				img, err := Render(b.Context(), v, k, w.blank, s, nil)
				if err != nil {
					b.Fatal(err)
				}
				sum = crc32.ChecksumIEEE(img.Pix)
			}
			samples := float64(v.W * v.H * v.Samples * v.Samples)
			b.ReportMetric(samples*float64(b.N)/b.Elapsed().Seconds()/1e6, "Msamples/s")
			b.Logf("check sum %08x", sum)
		})
	}
}

// BenchmarkSheen works out one node of the table that a moved lamp asks for, with
// what has to be made ready before it told apart.
func BenchmarkSheen(b *testing.B) {
	scene := DefaultScene(metal(b, "gold"))
	b.Run("ready", func(b *testing.B) {
		for b.Loop() {
			newSheens(scene)
		}
	})
	b.Run("node", func(b *testing.B) {
		s := newSheens(scene).cut
		for b.Loop() {
			s.node(sheenCells*7/10, sheenCells/2)
		}
	})
}
