//go:build unix && !linux

package bench

import "errors"

func countOnASmallDisk(string) error { return errors.New("only on Linux") }
