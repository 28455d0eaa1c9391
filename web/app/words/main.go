// Command words writes the words of package light for the page: metals, rooms,
// finishes, enamels and lamps that it offers.
package main

import (
	"encoding/json"
	"fmt"
	"os"

	"brightcut/light"
)

type word struct {
	Name  string `json:"name"`
	About string `json:"about,omitempty"`
}

func main() {
	words := map[string][]word{}
	for _, m := range light.Metals() {
		words["metals"] = append(words["metals"], word{m.Name, m.Stand})
	}
	for _, r := range light.Rooms() {
		words["rooms"] = append(words["rooms"], word{r.Name, r.About})
	}
	for _, l := range light.Lands() {
		words["lands"] = append(words["lands"], word{l.Name, l.About})
	}
	for _, s := range light.Spectra() {
		words["lamps"] = append(words["lamps"], word{s.Name, s.Stand})
	}
	names, about := light.Enamels()
	for i := range names {
		words["enamels"] = append(words["enamels"], word{names[i], about[i]})
	}
	out, err := json.MarshalIndent(words, "", " ")
	if err == nil {
		_, err = os.Stdout.Write(append(out, '\n'))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "words:", err)
		os.Exit(1)
	}
}
