package netlist

import (
	"fmt"
	"strings"

	"retrostage/assets"
)

// Catalogue names the generic old units that come with the program.
func Catalogue() []string {
	var out []string
	files, err := assets.FS.ReadDir("units")
	if err != nil {
		return nil
	}
	for _, f := range files {
		if n, ok := strings.CutSuffix(f.Name(), ".json"); ok {
			out = append(out, n)
		}
	}
	return out
}

// Load returns a fresh copy of a catalogue unit; a name it had once will do.
func Load(name string) (*Unit, error) {
	if err := goodName("unit", name); err != nil {
		return nil, err
	}
	name = Current(name)
	data, err := assets.FS.ReadFile("units/" + name + ".json")
	if err != nil {
		return nil, fail(ErrUnknown, "unit "+name, "the catalogue has %s", strings.Join(Catalogue(), ", "))
	}
	u, err := Parse(data)
	if err != nil {
		return nil, fmt.Errorf("catalogue unit %s: %w", name, err)
	}
	return u, nil
}
