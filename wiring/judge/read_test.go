package judge

import (
	"encoding/json"
	"fmt"
	"strings"

	"retrostage/wiring/netlist"
)

// A file is a unit file as this package reads it.
type file struct {
	Name       string   `json:"name"`
	Hertz      float64  `json:"hertz"`
	Devices    []device `json:"devices"`
	Conductors []lead   `json:"conductors"`
}

type device struct {
	ID, Kind, Label, Place string
	Params                 map[string]float64
}

type lead struct {
	ID, From, To, Class string
	Gauge               int
	Insulation, Length  float64
}

// read takes a unit as it stands in a file.
func read(data []byte) (*file, error) {
	var f file
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, fmt.Errorf("second reading: %w", err)
	}
	return &f, nil
}

func reread(u *netlist.Unit) *file {
	f, err := read(u.JSON())
	if err != nil {
		panic(err)
	}
	return f
}

// num is a number of the device; where the file leaves it out, what the format
// says it then is.
func (d *device) num(name string) float64 {
	if v, ok := d.Params[name]; ok {
		return v
	}
	for _, p := range netlist.Kinds[d.Kind].Params {
		if p.Name == name {
			return p.Default
		}
	}
	panic(fmt.Sprintf("a %s has no number %s", d.Kind, name))
}

// either is the first of two numbers that the kind has.
func (d *device) either(a, b string) float64 {
	if d.has(a) {
		return d.num(a)
	}
	return d.num(b)
}

// has tells whether the format knows the number for this kind.
func (d *device) has(name string) bool {
	for _, p := range netlist.Kinds[d.Kind].Params {
		if p.Name == name {
			return true
		}
	}
	return false
}

func (f *file) device(id string) *device {
	for i := range f.Devices {
		if f.Devices[i].ID == id {
			return &f.Devices[i]
		}
	}
	return nil
}

// terminalClass is line, class2 or any, as the format has it.
func terminalClass(kind, term string) string {
	for _, t := range netlist.Kinds[kind].Terminals {
		if t.Name == term {
			return string(t.Class)
		}
	}
	return ""
}

func isCompressor(kind string) bool { return strings.HasPrefix(kind, "compressor-") }

// milliohmPerMetre of copper by AWG, from the wire's definition: diameter
// 0.127 mm * 92^((36-n)/39) (ASTM B258), resistivity of annealed copper 17.241
// nohm m at 20 C and 0.00393 per kelvin (IEC 60028), here at 75 C. Stranding adds
// about 2 %.
func milliohmPerMetre(awg int) float64 {
	d := 0.127e-3 * pow(92, float64(36-awg)/39)
	rho := 17.241e-9 * (1 + 0.00393*(75-20)) * 1.02
	return 1e3 * rho / (3.141592653589793 / 4 * d * d)
}
