// Package table reads columns of numbers that a person, an indicator or a
// microscope wrote: lines of fields between commas, semicolons, tabs or blanks,
// with or without a header, with units in the header, decimal points or decimal
// commas, and remarks after a #.
//
// The values come out in millimetres, radians and newtons. Whatever cannot be
// read is reported with its line and column, every fault of the file at once up
// to MaxShown; nothing is guessed that a person could not check.
package table
