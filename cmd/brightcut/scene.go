package main

import (
	"errors"
	"math"

	"brightcut/fault"
	"brightcut/job"
	"brightcut/light"
)

// sceneFlags say how a piece is looked at.
type sceneFlags struct {
	From     float64 `default:"40" placeholder:"DEG" help:"Direction the lamp stands in, degrees counter-clockwise from the work's x axis (${default})."`
	Height   float64 `default:"40" placeholder:"DEG" help:"Height of the lamp above the surface, degrees; 90 is overhead (${default})."`
	Lamp     string  `placeholder:"LIGHT" help:"Light of the lamp: daylight, sunlit window, tungsten, fluorescent or LED; off puts it out, on lights it in a room that has none."`
	Wide     float64 `placeholder:"DEG" help:"How wide the lamp looks from the work, degrees: 1.2 is nearly a point, 15 the usual lamp, 60 a softbox. It gives the same light however wide it is."`
	Room     string  `help:"Room: workshop, dark, window, overcast, softbox, ring or showcase (workshop)."`
	Metal    string  `help:"Show it in another metal than the job's."`
	Land     string  `help:"Finish of the uncut ground: polished, grained or frosted; left out, the job's."`
	Enamel   string  `placeholder:"COLOUR[:MM]" help:"Translucent enamel over the cuts, as blue:0.2; none takes off the job's."`
	Eye      float64 `default:"420" placeholder:"MM" help:"Distance of the eye, mm (${default})."`
	Tilt     float64 `placeholder:"DEG" help:"Lean the piece in the hand by so many degrees, up to 25."`
	Toward   float64 `placeholder:"DEG" help:"Direction of the side that goes down when it leans."`
	Exposure float64 `placeholder:"STOPS" help:"Make all light brighter or darker; 0, the usual, is the room's own."`
}

// scene is the job's own look with what the flags change of it.
func (f sceneFlags) scene(j *job.Job) (light.Scene, error) {
	if f.Eye == 0 {
		return light.Scene{}, usage("--eye 0: give the distance of the eye, mm")
	}
	s, err := j.Scene()
	if err != nil && f.Metal == "" {
		return s, usage("the job's metal: %v; or choose another with --metal", err)
	}
	s, err = light.Words{Metal: f.Metal, Room: f.Room, Land: f.Land, Enamel: f.Enamel, Lamp: f.Lamp}.Onto(s)
	if err == nil {
		const deg = math.Pi / 180
		s.Lamp.Azimuth, s.Lamp.Elevation = f.From*deg, f.Height*deg
		s.Lamp.Radius = f.Wide / 2 * deg
		s.Eye = light.Eye{Distance: f.Eye, Tilt: f.Tilt * deg, Toward: f.Toward * deg}
		s.Exposure = f.Exposure
		err = s.Check()
	}
	var list fault.List
	if errors.As(err, &list) {
		flag := map[string]string{"azimuth": "from", "elevation": "height", "radius": "wide"}
		name := list[0].Field
		if flag[name] != "" {
			name = flag[name]
		}
		return s, usage("--%s: %s; %s", name, list[0].Problem, list[0].Mend)
	}
	return s, err
}
