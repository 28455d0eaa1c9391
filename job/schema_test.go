package job_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"brightcut/examples"
	"brightcut/job"
)

// compile makes a validator of a schema with a library of the outside, which
// first holds it to the metaschema of draft 2020-12.
func compile(t *testing.T, text []byte) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("job.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("job.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON turns YAML into the JSON value that it stands for, with a library that
// knows nothing of the job's own reading.
func asJSON(t *testing.T, text []byte) any {
	t.Helper()
	var v any
	if err := yaml.Load(text, &v); err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func partSchemas(t *testing.T) map[string]*jsonschema.Schema {
	t.Helper()
	all := map[string]*jsonschema.Schema{}
	for _, kind := range job.PartKinds() {
		text, err := job.PartSchema(kind)
		if err != nil {
			t.Fatal(err)
		}
		all[kind+"s"] = compile(t, text)
	}
	return all
}

// Every file of the example workshop and of the test's own fits its schema, and
// so does what Marshal makes of every job.
func TestSchemaTakesWhatReads(t *testing.T) {
	jobSchema, parts := compile(t, job.Schema()), partSchemas(t)
	for name, shop := range map[string]fs.FS{"examples": examples.Workshop, "testdata/shop": os.DirFS("testdata/shop")} {
		jobs := 0
		err := fs.WalkDir(shop, ".", func(file string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || path.Ext(file) != ".yaml" || file == job.PricesFile {
				return err
			}
			text, err := fs.ReadFile(shop, file)
			if err != nil {
				return err
			}
			s := jobSchema
			if dir := path.Dir(file); dir != "." {
				if s = parts[dir]; s == nil {
					t.Errorf("%s/%s is no part", name, file)
					return nil
				}
			}
			if err := s.Validate(asJSON(t, text)); err != nil {
				t.Errorf("%s/%s: %v", name, file, err)
			}
			if s != jobSchema {
				return nil
			}
			jobs++
			j, err := job.ReadFS(shop, file)
			if err != nil {
				t.Error(err)
				return nil
			}
			whole, err := j.Marshal()
			if err != nil {
				t.Error(err)
				return nil
			}
			if err := s.Validate(asJSON(t, whole)); err != nil {
				t.Errorf("%s written whole: %v\n%s", file, err, whole)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if name == "examples" && jobs < 12 {
			t.Errorf("%d example jobs; 12 are due", jobs)
		}
	}
}

// The schema refuses what the reader refuses by the look of one file.
func TestSchemaRefuses(t *testing.T) {
	s := compile(t, job.Schema())
	text, err := os.ReadFile("testdata/shop/barleycorn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{
		{"title: Barleycorn panel", "titel: Barleycorn panel"},
		{"title: Barleycorn panel", "title: 12"},
		{"title: Barleycorn panel", "title: Barleycorn panel\nextra: 1"},
		{"units: mm ", "units: metre "},
		{"thickness: 0.8", "thickness: -0.8"},
		{"thickness: 0.8", "thickness: -0.8 mm"},
		{"thickness: 0.8", "thickness: 3 deg"},
		{"thickness: 0.8", "thickness: true"},
		{"thickness: 0.8", "thickness:"},
		{"shape: rectangle, width: 30", "shape: disc, width: 30"},
		{"shape: rectangle, width: 30", "shape: rectangle"},
		{"open: true", "open: 1"},
		{"name: signature", "open: true"},
		{"bar: fine-sine", "rosette: fine-sine"},
		{"bar: fine-sine", "bar: {figure: sine, wave: 3}"},
		{"bar: fine-sine", "bar: {figure: wavy, wave: 3, amplitude: 1}"},
		{"cutter: bright-130", "cutter: {included: 190, clearance: 15}"},
		{"guide: right-foot", "guide: {offset: 1, side: right, extension: 0.045, compliance: 0.3}"},
		{"index_circle: 360", "index_circle: 1.5"},
		{"index_circle: 360", "index_circle: 0"},
		{"limits: {from: -9, to: 9}", "limits: {from: -9}"},
		{"start: {slide: -12.5,", "start: {across: -12.5,"},
		{"- repeat: 160", "- repeat: 0"},
		{"- step: 0.156 mm ", "- step: 3 holes "},
		{"- step: 0.156 mm ", "- step: 0,156 mm "},
		{"- step: 0.156 mm ", "- {step: 1, turn: 1} "},
		{"- turn: 1/360 turn", "- turn: 1 mm"},
		{"- turn: 1/360 turn", "- turn"},
		{"- alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]", "- alternate: [{shift: 1/2 wave}]"},
		{"- depth: 0.05", "- depth: 0"},
		{"sequence:\n", "sequence: []\nother:\n"},
	} {
		broken := strings.Replace(string(text), c[0], c[1], 1)
		if broken == string(text) {
			t.Fatalf("%q does not stand in the file", c[0])
		}
		if err := s.Validate(asJSON(t, []byte(broken))); err == nil {
			t.Errorf("the schema takes %q", c[1])
		}
		if _, err := job.ReadFS(laid(t, map[string]string{"barleycorn.yaml": broken}), "barleycorn.yaml"); err == nil {
			t.Errorf("the reader takes %q", c[1])
		}
	}
}

// Every key of the schemas, so of the tables, stands in some file of the tests.
func TestEveryKeyIsTried(t *testing.T) {
	tried := map[string]bool{}
	seen := func(text []byte) {
		var n yaml.Node
		if yaml.Load(text, &n) == nil {
			keysOf(&n, tried)
		}
	}
	for _, shop := range []fs.FS{examples.Workshop, os.DirFS("testdata/shop")} {
		err := fs.WalkDir(shop, ".", func(file string, d fs.DirEntry, err error) error {
			if err == nil && path.Ext(file) == ".yaml" {
				var text []byte
				text, err = fs.ReadFile(shop, file)
				seen(text)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	archives, _ := fs.Glob(os.DirFS("testdata/faults"), "*.txtar")
	for _, file := range archives {
		a, err := txtar.ParseFile("testdata/faults/" + file)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range a.Files {
			seen(f.Data)
		}
	}
	all := [][]byte{job.Schema()}
	for _, kind := range job.PartKinds() {
		text, _ := job.PartSchema(kind)
		all = append(all, text)
	}
	count := 0
	for _, text := range all {
		var doc any
		if err := json.Unmarshal(text, &doc); err != nil {
			t.Fatal(err)
		}
		propertiesOf(doc, func(key string, value any) {
			count++
			if !tried[key] {
				t.Errorf("no file tries the key %s", key)
			}
			if m, ok := value.(map[string]any); ok && m["description"] == nil && m["const"] == nil {
				t.Errorf("nothing is said of the key %s", key)
			}
		})
	}
	if count < 80 {
		t.Errorf("only %d keys were found", count)
	}
}

func keysOf(n *yaml.Node, into map[string]bool) {
	for i, c := range n.Content {
		if n.Kind == yaml.MappingNode && i%2 == 0 {
			into[c.Value] = true
		}
		keysOf(c, into)
	}
}

func propertiesOf(v any, visit func(string, any)) {
	switch v := v.(type) {
	case map[string]any:
		if p, ok := v["properties"].(map[string]any); ok {
			for key, value := range p {
				visit(key, value)
			}
		}
		for _, inner := range v {
			propertiesOf(inner, visit)
		}
	case []any:
		for _, inner := range v {
			propertiesOf(inner, visit)
		}
	}
}

func TestPartSchemaOfNothing(t *testing.T) {
	if _, err := job.PartSchema("cuter"); err == nil || fmt.Sprint(err) != `there is no part "cuter"; did you mean cutter?` {
		t.Errorf("got %v", err)
	}
}
