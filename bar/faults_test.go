package bar

import (
	"errors"

	"brightcut/fault"
)

func asFaults(err error) (fault.List, bool) {
	var l fault.List
	return l, errors.As(err, &l) && len(l) > 0
}
