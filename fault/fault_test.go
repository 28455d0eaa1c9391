package fault

import (
	"errors"
	"fmt"
	"testing"
)

func ExampleList() {
	l := List{
		{Origin: Origin{"barleycorn.yaml", 12, 8}, Field: "depth", Line: "depth: 3",
			Problem: "3 mm is as deep as the blank is thick, 0.8 mm, or deeper", Mend: "give a depth less than the thickness"},
		{Origin: Origin{File: "engines/bench.yaml"}, Problem: "the file is empty"},
		{Field: "width", Problem: "-1 mm is no width of the work"},
	}
	fmt.Println(l)
	// Output:
	// barleycorn.yaml:12:8: depth: 3 mm is as deep as the blank is thick, 0.8 mm, or deeper
	//     12 | depth: 3
	//     mend: give a depth less than the thickness
	// engines/bench.yaml: the file is empty
	// width: -1 mm is no width of the work
}

func TestErr(t *testing.T) {
	if err := (List{}).Err(); err != nil {
		t.Errorf("an empty list is the error %v", err)
	}
	err := fmt.Errorf("reading: %w", List{{Problem: "broken"}}.Err())
	var l List
	if !errors.As(err, &l) || len(l) != 1 {
		t.Errorf("the list is lost in %v", err)
	}
}
