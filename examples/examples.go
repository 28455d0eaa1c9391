// Package examples holds the workshop of Lantern Yard: engines, bars, rosettes,
// cutters, guides and metals, and a job for every pattern of the trade. The
// workshop, its people and its pieces are invented.
package examples

import "embed"

// Workshop is the folder as it stands: jobs at its root, parts in the folders
// engines, bars, rosettes, cutters, guides and metals, with readings, test cuts
// and what these told in readings, testcuts and calibrations, and measured widths
// in widths.
//
//go:embed *.yaml engines bars rosettes cutters guides metals readings testcuts calibrations prices runs widths drawings
var Workshop embed.FS
