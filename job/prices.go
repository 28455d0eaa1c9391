package job

import (
	"fmt"
	"io/fs"
	"path"

	"go.yaml.in/yaml/v4"

	"brightcut/fault"
)

// Prices are what a workshop reckons a piece with.
type Prices struct {
	Currency    string             // as it is written behind a sum
	Hour        float64            // of work
	Preparation float64            // of the bench before the first cut, minutes
	TouchUp     float64            // of the cutter, minutes
	Life        float64            // length that a cutter cuts between touch-ups, m; 0 leaves it to the runs
	Lost        float64            // share of the blank's weight that is paid for besides
	Gram        map[string]float64 // of each metal, by its name
}

// PricesFile is where a workshop's folder has its prices.
const PricesFile = "prices/prices.yaml"

// mostSum bounds sums of money; mostMinutes a time.
const (
	mostSum     = 1e9
	mostMinutes = 1e5
)

// sums reads a mapping from names to sums.
var sums = codec[map[string]float64]{
	read: func(r *reader, n *yaml.Node, at string) (map[string]float64, bool) {
		const mend = "write the names of metals with the price of a gram, silver: 1.10"
		if n.Kind != yaml.MappingNode {
			r.fault(n, at, "names with their prices are due here", mend)
			return nil, false
		}
		out := map[string]float64{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			key, v := n.Content[i], n.Content[i+1]
			where := join(at, cut(key.Value))
			if key.Kind != yaml.ScalarNode || key.ShortTag() != "!!str" {
				r.fault(key, where, "a name is due here", mend)
				continue
			}
			if x, ok := numberOf(span{0, mostSum, false}).read(r, v, where); ok {
				out[key.Value] = x
			}
		}
		return out, true
	},
	write:  func(*writer, map[string]float64) *yaml.Node { return nil },
	schema: func(*schemer) schema { return schema{"type": "object"} },
}

var pricesRecord = &record[Prices]{
	name: "the prices",
	fields: []field[Prices]{
		must("currency", "Currency, as it is written behind a sum.", text(20), func(p *Prices) *string { return &p.Currency }),
		must("hour", "Price of an hour's work.", numberOf(span{0, mostSum, false}), func(p *Prices) *float64 { return &p.Hour }),
		at("preparation", "Minutes before the first cut.", numberOf(span{0, mostMinutes, false}), func(p *Prices) *float64 { return &p.Preparation }),
		at("touch_up", "Minutes for one touch-up of the cutter.", numberOf(span{0, mostMinutes, false}), func(p *Prices) *float64 { return &p.TouchUp }),
		at("cutter_life", "Metres cut between touch-ups, until the runs tell.", numberOf(span{0, 1e6, false}), func(p *Prices) *float64 { return &p.Life }),
		at("lost", "Share of the blank's weight that is paid for besides.", shareOf(span{0, 10, false}), func(p *Prices) *float64 { return &p.Lost }),
		at("metals", "Price of a gram of each metal.", sums, func(p *Prices) *map[string]float64 { return &p.Gram }),
	},
}

// ReadPrices reads a workshop's prices; nil when it has none. What is wrong with
// them is a fault.List.
func ReadPrices(fsys fs.FS) (*Prices, error) {
	text, bad := readText(fsys, PricesFile)
	if bad != nil {
		if bad.missing {
			return nil, nil
		}
		return nil, fault.List{{Origin: fault.Origin{File: PricesFile}, Problem: bad.problem, Mend: bad.mend}}
	}
	src := newSource(PricesFile, text)
	root, faults := src.tree()
	if len(faults) > 0 {
		return nil, faults
	}
	all := &reading{shop: &shop{fsys: nowhere{}}, places: map[string]place{}}
	r := &reader{reading: all, src: src, units: Millimetre}
	p := &Prices{}
	pricesRecord.fill(r, root, "", p)
	if l := all.list(path.Base(PricesFile)); len(l) > 0 {
		return nil, fmt.Errorf("read the prices: %w", l)
	}
	return p, nil
}
