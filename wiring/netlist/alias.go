package netlist

// Names that files of earlier versions may hold, with the names of today. Only
// Parse, Load and Current know them; nothing writes them.
var (
	unitAlias = map[string]string{
		"unloading-scroll-conventional": "two-capacity-conventional",
		"unloading-scroll-digital":      "two-capacity-digital",
	}
	kindAlias  = map[string]string{"compressor-unloading": "compressor-two-capacity"}
	paramAlias = map[string]string{"solenoid-ohms": "valve-ohms", "solenoid-pick-up": "valve-pick-up"}
)

// Current is the name of today for the name of a catalogue unit, which may come
// from an old file.
func Current(unit string) string {
	if n, ok := unitAlias[unit]; ok {
		return n
	}
	return unit
}

// rename gives what was read from an old file the names of today. A number that
// the kind has under its old name, or that stands there under both, is left for
// Validate to refuse.
func (u *Unit) rename() {
	u.Name = Current(u.Name)
	for i := range u.Devices {
		d := &u.Devices[i]
		if n, ok := kindAlias[d.Kind]; ok {
			d.Kind = n
			for old, now := range paramAlias {
				v, has := d.Params[old]
				if _, both := d.Params[now]; has && !both {
					delete(d.Params, old)
					d.Params[now] = v
				}
			}
		}
	}
}
