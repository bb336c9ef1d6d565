package planner

import "retrostage/wiring/netlist"

// name is how a device is called: by its label, or by its id if it has none. One
// of two with the same label has its id as well.
func (p *plan) name(d *netlist.Device) string { return nameIn(p.old, d) }

func nameIn(u *netlist.Unit, d *netlist.Device) string {
	if d.Label == "" {
		return d.ID
	}
	for i := range u.Devices {
		if o := &u.Devices[i]; o.ID != d.ID && o.Label == d.Label {
			return d.Label + " (" + d.ID + ")"
		}
	}
	return d.Label
}
