package job

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
)

// schema is a JSON Schema (draft 2020-12, json-schema.org) or a part of one.
type schema = map[string]any

// schemer gathers the definitions that a schema refers to.
type schemer struct{ defs map[string]any }

// define puts a schema among the definitions once and returns a reference to it.
func (s *schemer) define(name string, make func() schema) schema {
	if _, there := s.defs[name]; !there {
		s.defs[name] = nil // holds the name while a schema refers to itself
		s.defs[name] = make()
	}
	return schema{"$ref": "#/$defs/" + name}
}

// schema describes the mapping: its keys, those it must have, and for each
// variant the keys that belong to it.
func (rec *record[T]) schema(s *schemer) schema {
	properties := schema{}
	var need []string
	var variants []string
	if rec.units {
		u := unitsCodec.schema(s)
		u["description"] = "Units of bare lengths here: mm (usual) or inch."
		properties["units"] = u
	}
	for _, f := range rec.fields {
		p := maps.Clone(f.schema(s))
		p["description"] = f.doc
		properties[f.key] = p
		if f.need && len(f.only) == 0 {
			need = append(need, f.key)
		}
		for _, v := range f.only {
			if !slices.Contains(variants, v) {
				variants = append(variants, v)
			}
		}
	}
	out := schema{"type": "object", "properties": properties, "additionalProperties": false}
	if len(need) > 0 {
		out["required"] = need
	}
	if len(variants) > 0 {
		var any []any
		for _, v := range rec.every(variants) {
			any = append(any, rec.variantSchema(v))
		}
		out["anyOf"] = any
	}
	return out
}

// every adds the variants that have no key of their own.
func (rec *record[T]) every(variants []string) []string {
	for _, f := range rec.fields {
		if f.key != rec.selector {
			continue
		}
		if words, ok := f.schema(&schemer{defs: map[string]any{}})["enum"].([]string); ok {
			return words
		}
	}
	return variants
}

func (rec *record[T]) variantSchema(variant string) schema {
	properties := schema{}
	var need []string
	if rec.selector != "" {
		properties[rec.selector] = schema{"const": variant}
	}
	for _, f := range rec.fields {
		switch {
		case !f.belongs(variant):
			properties[f.key] = false
		case len(f.only) > 0 && f.mustBe(variant):
			need = append(need, f.key)
		}
	}
	out := schema{"properties": properties}
	if len(need) > 0 {
		out["required"] = need
	}
	return out
}

// Schema returns the JSON Schema (draft 2020-12) of a job file, taken as the
// JSON value that its YAML stands for. It describes one file: that a named part
// exists, and what the numbers do together, only Read can tell.
func Schema() []byte {
	return document("A job for the engine", jobRecord.schema)
}

// PartKinds lists the kinds of part that a workshop keeps, in the singular:
// "engine", "bar", "rosette", "cutter", "guide", "metal", "calibration".
func PartKinds() []string {
	return []string{"engine", "bar", "rosette", "cutter", "guide", "metal", "calibration"}
}

// PartSchema returns the JSON Schema of the file of one kind of part.
func PartSchema(kind string) ([]byte, error) {
	of, ok := map[string]func(*schemer) schema{
		"engine": engineRecord.schema, "bar": barRecord.schema, "rosette": rosetteRecord.schema,
		"cutter": cutterRecord.schema, "guide": guideRecord.schema, "metal": metalRecord.schema,
		"calibration": calibrationsRecord.schema,
	}[kind]
	if !ok {
		return nil, fmt.Errorf("there is no part %q; %s", kind, suggest(kind, PartKinds(), "parts are"))
	}
	return document("The file of "+article(kind), of), nil
}

func document(title string, of func(*schemer) schema) []byte {
	s := &schemer{defs: map[string]any{}}
	root := of(s)
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = title
	if len(s.defs) > 0 {
		root["$defs"] = s.defs
	}
	b, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		panic("job: a schema holds what JSON cannot: " + err.Error())
	}
	return append(b, '\n')
}

// article puts a or an before a kind of part.
func article(kind string) string {
	if kind == "engine" {
		return "an engine"
	}
	return "a " + kind
}
