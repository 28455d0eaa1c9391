package job

import "testing"

func TestTheWorkshopReads(t *testing.T) {
	for _, n := range []string{"barleycorn", "rings"} {
		if _, err := Read("testdata/shop/" + n + ".yaml"); err != nil {
			t.Error(err)
		}
	}
}
