package job

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/engine"
	"brightcut/fault"
)

// reading is one reading of a job: what all its files share.
type reading struct {
	shop   *shop
	kind   engine.Kind // of the job's engine; 0 while it is not known
	faults []finding
	places map[string]place  // by path from the job's root
	edges  map[string]string // path of each bar or rosette, by its name
	named  map[string]string // file that a part was named from, by its kind; the last one of bars
}

// finding is a fault with its path from the job's root. A loose one says that a
// number is out of range; the part's own check may know better words.
type finding struct {
	fault.Fault
	path  string
	loose bool
	src   *source // the line is taken from it when the list is made; nil when it has it
}

// place is where a value stands.
type place struct {
	src   *source
	node  *yaml.Node
	field string // path within its file
}

// reader walks one file.
type reader struct {
	*reading
	src   *source
	root  string // path of the file's root in the job
	units Units  // of bare lengths here
}

// join adds a key to a path.
func join(path, key string) string {
	if path == "" {
		return key
	}
	if key == "" || key[0] == '[' {
		return path + key
	}
	return path + "." + key
}

func item(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }

func (r *reader) mark(n *yaml.Node, at string) {
	r.places[join(r.root, at)] = place{r.src, n, at}
}

func (r *reader) fault(n *yaml.Node, at, problem, mend string) {
	r.find(n, at, problem, mend, false)
}

func (r *reader) find(n *yaml.Node, at, problem, mend string, loose bool) {
	f := fault.Fault{Origin: fault.Origin{File: r.src.name, Line: n.Line, Column: n.Column}, Field: at, Problem: problem, Mend: mend}
	r.faults = append(r.faults, finding{f, join(r.root, at), loose, r.src})
}

// full says that reading on would only find more of what nobody reads.
func (r *reading) full() bool { return len(r.faults) > 10*mostFault }

// checked takes what a part's own check found, with fields relative to path,
// and gives each fault its place. What reading has already refused is not told
// twice.
func (r *reading) checked(path string, found fault.List) {
	for _, f := range found {
		full := join(path, f.Field)
		told := false
		r.faults = slices.DeleteFunc(r.faults, func(g finding) bool {
			if g.loose && g.path == full {
				return true
			}
			told = told || within(full, g.path) || within(g.path, full)
			return false
		})
		if !told {
			r.faults = append(r.faults, finding{r.placed(full, f), full, false, nil})
		}
	}
}

// refused says whether something at the path or inside it has a fault.
func (r *reading) refused(path string) bool {
	return slices.ContainsFunc(r.faults, func(f finding) bool { return within(f.path, path) })
}

// inFile orders faults by file, line and column.
func inFile(a, b fault.Fault) int {
	return cmp.Or(cmp.Compare(a.Origin.File, b.Origin.File), a.Origin.Line-b.Origin.Line, a.Origin.Column-b.Origin.Column)
}

// within says whether path is outer or stands inside it.
func within(path, outer string) bool {
	rest, ok := strings.CutPrefix(path, outer)
	return ok && (rest == "" || outer == "" || rest[0] == '.' || rest[0] == '[')
}

// placed gives a fault the place of its path, or of the nearest one around it.
func (r *reading) placed(path string, f fault.Fault) fault.Fault {
	for at := path; ; {
		if p, ok := r.places[at]; ok {
			field := p.field + strings.TrimPrefix(path, at)
			return p.src.at(p.node.Line, p.node.Column, strings.TrimPrefix(field, "."), f.Problem, f.Mend)
		}
		if at == "" {
			return f
		}
		at = at[:max(strings.LastIndexAny(at, ".["), 0)]
	}
}

// list returns the faults in the order of the files, the job's own first.
func (r *reading) list(first string) fault.List {
	slices.SortStableFunc(r.faults, func(a, b finding) int {
		if a.Origin.File != b.Origin.File {
			if a.Origin.File == first {
				return -1
			}
			if b.Origin.File == first {
				return 1
			}
		}
		return inFile(a.Fault, b.Fault)
	})
	var l fault.List
	for _, f := range r.faults {
		if len(l) == mostFault {
			l = append(l, fault.Fault{Origin: f.Origin, Problem: fmt.Sprintf("%d faults or more follow", len(r.faults)-mostFault), Mend: "mend those above first"})
			break
		}
		if f.src != nil {
			f.Line = f.src.line(f.Origin.Line, f.Origin.Column)
		}
		l = append(l, f.Fault)
	}
	return l
}
