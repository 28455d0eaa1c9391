// Package job reads and writes the job file: one YAML file a job, with the
// parts a workshop owns in files of their own beside it, in the folders engines,
// bars, rosettes, cutters, guides and metals.
//
// A job becomes an engine.Setup, in millimetres and radians; the units of the
// file end here. Bare lengths are in the file's units (a part's file has its own,
// millimetres when it names none), bare angles in degrees; text carries a unit:
// "0.2 mm", "8 thou", "1/4 in", "14 tpi", "12 teeth", "half a wave", "360 round".
// Lengths and angles round once, from their exact value; wishes stay exact.
//
// # One table
//
// Each mapping of the file has a record, a table of its keys; each kind of value
// a codec, which knows how it is read, written and described by a JSON Schema.
// Read, Marshal and Schema are three walks over the same tables, so they cannot
// disagree: a new key is one line in parts.go, edge.go, blank.go, motions.go or
// table.go.
//
// # Strictness
//
// A file is read as a tree of nodes and never decoded into structs: every value
// goes through its codec. Unknown or doubled keys, a number where a text is due,
// nan, octal-looking numbers, anchors, aliases, merges and tags are refused. All
// faults of a job and its parts come back together as a fault.List, with the
// place, the line and what would mend it. What the parts and the set-up find
// wrong with themselves (their Check methods) is given the place of the field it
// speaks of. Limits on bytes, values and depth are kept before memory is spent.
package job
