package sheet

import (
	"strings"

	"brightcut/engine"
	"brightcut/job"
)

// cautions are the general ones that apply to the job. They replace no rule:
// local rules and qualified advice come first, and the sheet says so first.
// The kinds of harm are those named by OSHA 1910.212 (point of operation, nip
// points, rotating parts, flying chips) and 1910.1025 (lead); eye protection
// after ANSI/ISEA Z87.1 and ISO 16321-1. The words are common practice.
func cautions(j *job.Job, l *engine.List) []string {
	out := []string{
		"Local rules, the advice of the engine's maker and of a qualified person come before anything on this sheet.",
		"The cutter is sharp and chips fly: wear eye protection, keep the hands clear of the cutter, and take chips away with a brush.",
		"Slides, screws, chains, weights and the crank pinch: keep the fingers out of them, and set the engine only while it stands still.",
	}
	e := &j.Setup.Engine
	switch {
	case e.Kind == engine.Rose:
		out = append(out, "The spindle, the work and the rosettes turn: tie back hair, roll up or fasten sleeves, wear no gloves and nothing that hangs.")
	case used(l, engine.IndexAxis) || used(l, engine.ChuckAxis):
		out = append(out, "The crank and the chuck turn: tie back hair, fasten sleeves, and see that the chuck is locked before each cut.")
	default:
		out = append(out, "The crank turns: tie back hair and fasten sleeves.")
	}
	if dust := metalCaution(j); dust != "" {
		out = append(out, dust)
	}
	return append(out,
		"If the work is held with wax, shellac or solder: mind the heat and the fumes, and air the room.",
		"Bright work throws the light of a lamp or the sun into the eyes: place the lamp so that it cannot.")
}

// metalCaution is what the metal's dust and swarf ask for.
func metalCaution(j *job.Job) string {
	name := strings.ToLower(j.Metal.Name + " " + j.Setup.Blank.Metal)
	has := func(words ...string) bool {
		for _, w := range words {
			if strings.Contains(name, w) {
				return true
			}
		}
		return false
	}
	const wash = "do not eat, drink or smoke at the engine, wash the hands afterwards, wipe up the swarf wet and do not blow it about"
	switch {
	case has("lead", "free-cutting", "free cutting", "pb"):
		return "This metal holds lead, which is poisonous: " + wash + "; keep it away from children and from those who are pregnant."
	case has("brass", "bronze"):
		return "Free-cutting brass holds lead, which is poisonous. Unless the metal is known to be free of it: " + wash + "."
	case has("nickel"):
		return "Nickel in dust and swarf can cause allergies of the skin and harms the lungs: " + wash + "."
	}
	return "Dust and swarf of any metal belong neither in the lungs nor on the hands: " + wash + "."
}
