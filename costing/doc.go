// Package costing says what a piece takes: hours at the engine, touch-ups of the
// cutter, metal, and a simple quote of them.
//
// Times are seconds here, lengths millimetres, weights grams, sums in the
// workshop's own currency. Every estimate has a range; those of several things
// are put together as independent (the root of the sum of squares, each side by
// itself), so that a quote is no wider than it need be.
package costing
