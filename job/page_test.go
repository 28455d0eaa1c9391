package job

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
)

// TestPage holds the handbook's page of keys to the table that reads them. With
// BRIGHTCUT_UPDATE set the page is written anew.
func TestPage(t *testing.T) {
	const file = "../docs/job-file.md"
	page := pageOfKeys(t)
	if os.Getenv("BRIGHTCUT_UPDATE") != "" {
		if err := os.WriteFile(file, []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	old, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(old) != page {
		t.Errorf("%s no longer tells the keys as they are; write it anew with BRIGHTCUT_UPDATE=1 go test ./job -run TestPage", file)
	}
}

const pageHead = `# The job file

One YAML file a job. Parts that the workshop owns stand in files of their own, in the
folders named below, and a job names them by their file's name without the ending; or
their keys stand in the job itself. This page is made from the table that reads the files.

A bare number is in the file's ` + "`units:`" + ` (mm unless it says inch), or in degrees where an angle
is due. A text carries its own unit: ` + "`0.156 mm`, `45 um`, `8 thou`, `1/4 in`, `14 tpi`, `30 deg`,\n`16 teeth`, `3 holes`, `1/2 wave`, `half a wave`, `1/360 turn`, `360 round`" + ` (one of 360 to the
round). Keys in **bold** must be there.
`

const sequenceHead = `
## Motions of a sequence

A line of the sequence has one motion (` + "`repeat`" + ` goes with ` + "`do`" + `). They are worked in order:

| motion | meaning |
|---|---|
`

// pageOfKeys tells every key of the job and of the parts, from their schemas.
func pageOfKeys(t *testing.T) string {
	var b strings.Builder
	b.WriteString(pageHead)
	tell := func(title string, text []byte) {
		var root map[string]any
		if err := json.Unmarshal(text, &root); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "\n## %s\n\n| key | meaning |\n|---|---|\n", title)
		defs, _ := root["$defs"].(map[string]any)
		tellKeys(&b, "", root, defs)
	}
	tell("Keys of a job", Schema())
	b.WriteString(sequenceHead)
	var root map[string]any
	if err := json.Unmarshal(Schema(), &root); err != nil {
		t.Fatal(err)
	}
	defs := root["$defs"].(map[string]any)
	told := map[string]bool{}
	for _, o := range objectsIn(defs["line"].(map[string]any), defs) {
		properties := o["properties"].(map[string]any)
		for _, key := range slices.Sorted(maps.Keys(properties)) {
			if doc, _ := properties[key].(map[string]any); doc != nil && !told[key] {
				told[key] = true
				fmt.Fprintf(&b, "| `%s` | %v |\n", key, doc["description"])
			}
		}
	}
	for _, kind := range PartKinds() {
		text, err := PartSchema(kind)
		if err != nil {
			t.Fatal(err)
		}
		tell(strings.ToUpper(kind[:1])+kind[1:]+", in `"+kind+"s/`", text)
	}
	return b.String()
}

// tellKeys writes a row for each key of an object and of the objects in it.
// References to a part or to a line of the sequence are rows of their own.
func tellKeys(b *strings.Builder, at string, of, defs map[string]any) {
	properties, _ := of["properties"].(map[string]any)
	needed, _ := of["required"].([]any)
	for _, key := range slices.Sorted(maps.Keys(properties)) {
		p, ok := properties[key].(map[string]any)
		if !ok {
			continue
		}
		name := "`" + at + key + "`"
		if slices.Contains(needed, any(key)) {
			name = "**" + name + "**"
		}
		doc, _ := p["description"].(string)
		if words, ok := p["enum"].([]any); ok {
			one := make([]string, len(words))
			for i, w := range words {
				one[i] = fmt.Sprintf("`%v`", w)
			}
			doc += " One of " + strings.Join(one, ", ") + "."
		}
		fmt.Fprintf(b, "| %s | %s |\n", name, strings.ReplaceAll(doc, "|", "\\|"))
		if at == "" && isPart(key) {
			continue // has a section of its own
		}
		inner := objectsIn(p, defs)
		if items, ok := p["items"].(map[string]any); ok {
			name = at + key + "[]."
			inner = objectsIn(items, defs)
		} else {
			name = at + key + "."
		}
		if strings.Count(name, ".") > 3 {
			continue
		}
		for _, o := range inner {
			tellKeys(b, name, o, defs)
		}
	}
}

func isPart(key string) bool {
	return slices.Contains(PartKinds(), key) || slices.Contains([]string{"bars", "rosettes", "pumping_rosette", "from", "into", "other_side"}, key)
}

// objectsIn lists the objects that a schema allows.
func objectsIn(p, defs map[string]any) []map[string]any {
	if ref, ok := p["$ref"].(string); ok {
		p, _ = defs[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
	}
	if _, ok := p["properties"]; ok {
		return []map[string]any{p}
	}
	var out []map[string]any
	for _, word := range []string{"anyOf", "oneOf"} {
		list, _ := p[word].([]any)
		for _, one := range list {
			if o, ok := one.(map[string]any); ok {
				out = append(out, objectsIn(o, defs)...)
			}
		}
	}
	return out
}
