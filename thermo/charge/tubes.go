package charge

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
)

// A Tube is a size of copper tube, m. Mark says how far the figures are to be
// trusted.
type Tube struct {
	Name     string
	OD, Wall float64
	UWall    float64 // standard uncertainty of the wall
	Mark     string
}

//go:embed tubes.json
var tubesJSON []byte

var tubes = func() []Tube {
	var f struct {
		Source    string
		Tolerance float64 `json:"wall_tolerance"`
		Tubes     []struct {
			Name     string
			OD, Wall float64
		}
	}
	if err := json.Unmarshal(tubesJSON, &f); err != nil {
		panic("charge: tubes.json: " + err.Error()) // ships with the program; a test reads it
	}
	const inch = 0.0254
	var out []Tube
	for _, t := range f.Tubes {
		out = append(out, Tube{t.Name, t.OD * inch, t.Wall * inch, f.Tolerance * inch / math.Sqrt(3), f.Source})
	}
	return out
}()

// TubeOf is the size whose outside diameter, m, lies within 0.3 mm of od.
func TubeOf(od float64) (Tube, error) {
	for _, t := range tubes {
		if math.Abs(t.OD-od) < 0.3e-3 {
			return t, nil
		}
	}
	return Tube{}, fmt.Errorf("charge: no tube of %.4g m outside diameter in the table; it goes from %.4g to %.4g m", od, tubes[0].OD, tubes[len(tubes)-1].OD)
}
