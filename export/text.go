package export

import (
	"bufio"
	"io"
	"strconv"
	"strings"
)

// out writes text and keeps the first error, which end returns.
type out struct {
	w   *bufio.Writer
	buf []byte
}

func newOut(w io.Writer) *out { return &out{w: bufio.NewWriterSize(w, 1<<16)} }

func (o *out) put(s ...string) {
	for _, s := range s {
		o.w.WriteString(s)
	}
}

// num writes a number to so many decimals, without zeros at its end and without
// the sign of nothing.
func (o *out) num(x float64, decimals int) {
	o.buf = appendNum(o.buf[:0], x, decimals)
	o.w.Write(o.buf)
}

func (o *out) end() error { return o.w.Flush() }

func appendNum(buf []byte, x float64, decimals int) []byte {
	begin := len(buf)
	buf = strconv.AppendFloat(buf, x, 'f', decimals, 64)
	if decimals > 0 {
		for buf[len(buf)-1] == '0' {
			buf = buf[:len(buf)-1]
		}
		if buf[len(buf)-1] == '.' {
			buf = buf[:len(buf)-1]
		}
	}
	if string(buf[begin:]) == "-0" {
		buf = append(buf[:begin], '0')
	}
	return buf
}

func numText(x float64, decimals int) string { return string(appendNum(nil, x, decimals)) }

// ascii is a name for formats that take no other letters: one line, at most 60
// long, what they cannot hold as '?', and none of the characters in not.
func ascii(name, not string) string {
	var b strings.Builder
	for _, r := range name {
		switch {
		case b.Len() >= 60:
			return b.String()
		case r < ' ' || r == 127:
			b.WriteByte(' ')
		case r > '~' || strings.ContainsRune(not, r):
			b.WriteByte('?')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
