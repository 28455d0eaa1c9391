package job

import (
	"go.yaml.in/yaml/v4"

	"brightcut/depth"
)

// How a job holds its depth besides the guide: the stop, the hand, and what it
// asks of the plan.

var stopRecord = &record[depth.Stop]{
	name: "a stop", flow: true,
	fields: []field[depth.Stop]{
		must("compliance", "Give of stop, slides and work under the hand, with its unit, as 0.3 um/N.", giveOf(), func(s *depth.Stop) *float64 { return &s.Compliance }),
	},
}

var handWords = []string{"light", depth.UsualHand, "firm"}

var handRecord = &record[depth.Pressure]{
	name: "a hand", flow: true,
	fields: []field[depth.Pressure]{
		at("class", "Class of hand: light, usual or firm.", choice(handWords, handWords), func(p *depth.Pressure) *string { return &p.Hand }),
		at("force", "What it presses with while cutting, N; left out, it is not known.", forceOf(), func(p *depth.Pressure) *float64 { return &p.Force }),
		at("scatter", "Standard deviation of that force, N; left out, it is not known.", forceOf(), func(p *depth.Pressure) *float64 { return &p.Scatter }),
	},
}

func forceOf() codec[float64] {
	return number{fromZero, force, "a force", "8 N", true, func(Units) scale { return plainScale }}.codec()
}

func shareOf(s span) codec[float64] {
	return number{s, share, "a share", "5 %", true, func(Units) scale { return plainScale }}.codec()
}

// unseen is the word for a tolerance that the eye sets.
const unseen = "unseen"

var toleranceCodec = func() codec[float64] {
	share := shareOf(span{0, 1, true})
	return codec[float64]{
		read: func(r *reader, n *yaml.Node, at string) (float64, bool) {
			if n.Kind == yaml.ScalarNode && n.Value == unseen {
				return depth.Unseen, true
			}
			return share.read(r, n, at)
		},
		write: func(w *writer, v float64) *yaml.Node {
			if v == depth.Unseen {
				return textNode(unseen)
			}
			return share.write(w, v)
		},
		schema: func(s *schemer) schema {
			return schema{"anyOf": []any{schema{"const": unseen}, share.schema(s)}}
		},
	}
}()

var overrideRecord = &record[depth.Override]{
	name: "a hold", flow: true,
	fields: []field[depth.Override]{
		must("from", "First cut of the run, in the plan's order.", count(1, mostCount), func(o *depth.Override) *int { return &o.From }),
		at("to", "Last cut of the run; left out, the run is one cut.", count(1, mostCount), func(o *depth.Override) *int { return &o.To }),
		must("by", "What holds the depth: guide, stop or hand.", choice([]string{"guide", "stop", "hand"}, []depth.Way{depth.ByGuide, depth.ByStop, depth.ByHand}),
			func(o *depth.Override) *depth.Way { return &o.By }),
		at("groove", "Earlier cut in whose groove the stop is set; left out, the plan chooses.", count(1, mostCount), func(o *depth.Override) *int { return &o.Groove }),
		at("reading", "Reading of the stroke, or of the spindle on a rose engine, at which the stop is set; left out, the plan chooses.",
			refer(reading1), func(o *depth.Override) **float64 { return &o.Reading }),
	},
}

var wishesRecord = &record[depth.Wishes]{
	name: "a plan",
	fields: []field[depth.Wishes]{
		at("tolerance", "Share of the width by which a groove may be off, or unseen: what the unaided eye at 250 mm just does not see under half of all lamps; left out, 5 %.", toleranceCodec, func(w *depth.Wishes) *float64 { return &w.Tolerance }),
		at("begin", "Cut of the job with which a round begins; left out, the plan chooses.", count(1, mostCount), func(w *depth.Wishes) *int { return &w.Begin }),
		at("advance", "Order of the cuts: as written or reversed; left out, the plan chooses.",
			choice([]string{depth.AsWritten.String(), depth.Reversed.String()}, []depth.Advance{depth.AsWritten, depth.Reversed}), func(w *depth.Wishes) *depth.Advance { return &w.Advance }),
		at("hold", "Runs of cuts that are to be held in a way that the plan must not change.",
			listOf(overrideRecord.codec(), 0, mostHolds, false), func(w *depth.Wishes) *[]depth.Override { return &w.Hold }),
	},
}

// mostHolds bounds the runs that a job may fix.
const mostHolds = 1000

var holdFields = []field[Job]{
	at("stop", "Stop on the cutter's slide, which fixes its height in the machine; left out, there is none.", refer(stopRecord.codec()), func(j *Job) **depth.Stop { return &j.Stop }),
	at("hand", "What the operator's hand puts on the cutter's slide.", handRecord.codec(), func(j *Job) *depth.Pressure { return &j.Hand }),
	func() field[Job] {
		f := at("plan", "What the plan of the depth has to keep to; {} has one made and leaves all to it.", refer(wishesRecord.codec()), func(j *Job) **depth.Wishes { return &j.Wishes })
		write := f.write
		f.write = func(w *writer, j *Job) *yaml.Node {
			n := write(w, j)
			if n != nil && len(n.Content) == 0 {
				n.Style = yaml.FlowStyle
			}
			return n
		}
		return f
	}(),
}
