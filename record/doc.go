// Package record keeps a finished piece on paper: the settings, the plan, what was
// done when, the widths that were measured and what they say, the picture, and
// the job with all its parts in full, so that a matching piece can be cut years
// later.
//
// One Record is set in type three ways, as PDF, HTML and text. It holds nothing of
// the clock: the same log gives the same bytes. Times are those that the devices
// told, shown in a zone that is named.
package record
