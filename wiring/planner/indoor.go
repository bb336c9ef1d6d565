package planner

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// changesControl tells whether the indoor control becomes one of the other kind.
func (p *plan) changesControl() bool { return p.digital != p.isDigital() }

// isDigital tells whether the old indoor control is on a digital bus.
func (p *plan) isDigital() bool { return strings.HasPrefix(p.indoor.Kind, "indoor-digital") }

// setting is a device with some of its numbers set.
func setting(d netlist.Device, set map[string]float64) netlist.Device {
	n := d
	n.Params = maps.Clone(d.Params)
	if n.Params == nil {
		n.Params = map[string]float64{}
	}
	maps.Copy(n.Params, set)
	return n
}

// placeIndoor keeps, sets or replaces the indoor control.
func (b *blueprint) placeIndoor(d netlist.Device) {
	p := b.p
	one := map[string]float64{"outdoor-conventional": 1, "stages": 1}
	if !p.changesControl() {
		if !p.digital {
			b.keep(d, "keep", "indoor-keep")
			return
		}
		n, action, rule := setting(d, one), "set", "indoor-set"
		if d.Kind != "indoor-digital" {
			n.Kind, action, rule = "indoor-digital", "replace", "indoor-new"
			b.cost += p.cost["replace-device"]
		}
		a := b.keep(n, action, rule)
		a.Reason += fmt.Sprintf("; cooling air %s cfm per ton", p.answer["airflow-per-ton"])
		return
	}
	n := netlist.Device{ID: d.ID, Kind: "indoor-board", Label: "24 V terminal strip", Place: d.Place}
	pairs := [][2]string{{"BG", "G"}, {"BY1", "Y1"}, {"BY2", "Y2"}}
	if p.digital {
		n.Kind, n.Label, n.Params = "indoor-digital", "indoor digital control", one
		pairs = [][2]string{{"G", "BG"}, {"Y1", "Y1"}, {"Y2", "Y2"}}
	}
	b.replaceControl(d, n, pairs)
}

func (b *blueprint) placeThermostat(d netlist.Device) {
	want, pairs := "thermostat", [][2]string{{"A", "Y1"}, {"B", "G"}}
	if b.p.digital {
		want, pairs = "thermostat-digital", [][2]string{{"Y1", "A"}, {"G", "B"}}
	}
	if d.Kind == want {
		b.keep(d, "keep", "indoor-keep")
		return
	}
	b.replaceControl(d, netlist.Device{ID: d.ID, Kind: want, Label: "thermostat", Place: d.Place}, pairs)
}

// replaceControl puts a control of the other kind into a control's place: its
// supply is joined as before, the rest is joined anew.
func (b *blueprint) replaceControl(d, n netlist.Device, pairs [][2]string) {
	for _, q := range append(pairs, [2]string{"R", "R"}, [2]string{"C", "C"}) {
		b.land(d.ID+"."+q[0], d.ID+"."+q[1], b.p.cost["reland"])
	}
	b.cost += b.p.cost["replace-device"]
	b.keep(n, "replace", "indoor-new")
}

func (b *blueprint) placeBlower(d netlist.Device) {
	p := b.p
	if _, ok := d.Params["y1-full"]; !p.digital && p.answer["airflow"] == "setting" && (ok || d.Kind == "blower-ecm") {
		a := b.keep(setting(d, map[string]float64{"y1-full": 1}), "set", "airflow-set")
		a.Reason += fmt.Sprintf(" (%s cfm per ton of the new compressor)", p.answer["airflow-per-ton"])
		return
	}
	b.keep(d, "keep", "indoor-keep")
}

// joinIndoor joins what a change of the indoor control, or the answers about
// air, set anew; it runs before the old nets are taken over.
func (b *blueprint) joinIndoor() {
	p := b.p
	in, st, bl := p.indoor.ID, p.stat.ID, p.blower.ID
	group := func(ends ...string) {
		for _, e := range ends[1:] {
			b.want.join(ends[0], e)
		}
	}
	jumper := !p.digital && p.answer["airflow"] == "jumper"
	if !p.changesControl() {
		if jumper {
			delete(b.becomes, bl+".Y2")
			group(bl+".Y1", bl+".Y2")
		}
		return
	}
	for _, d := range []string{in, st, bl} {
		for _, t := range []string{"Y1", "Y2", "G", "A", "B", "BG", "BY1", "BY2", "OAT1", "OAT2"} {
			delete(b.becomes, d+"."+t)
		}
	}
	if p.digital {
		group(in+".A", st+".A")
		group(in+".B", st+".B")
		group(in+".BG", bl+".G")
		group(in+".BY1", bl+".Y1")
		group(in+".BY2", bl+".Y2")
		return
	}
	group(in+".Y1", st+".Y1", bl+".Y1")
	group(in+".G", st+".G", bl+".G")
	if jumper {
		group(bl+".Y1", bl+".Y2")
	}
}

// fresh is an id that the old unit does not use.
func (p *plan) fresh(id string) string {
	for p.old.Device(id) != nil {
		id += "n"
	}
	return id
}

// addParts adds what the answers ask for, on the line side.
func (b *blueprint) addParts() {
	p := b.p
	if p.answer["crankcase-heater"] == "add" {
		h := netlist.Device{ID: p.fresh("CCH"), Kind: "heater-crankcase", Label: "crankcase heater", Place: "outdoor", Params: map[string]float64{"volts": p.target.Compressor.Volts}}
		b.keep(h, "add", "heater-add")
		b.want.join(b.k.ID+".L1", h.ID+".1")
		b.want.join(b.k.ID+".L2", h.ID+".2")
	}
	if p.answer["hard-start"] == "add" {
		c := netlist.Device{ID: p.fresh("SC"), Kind: "capacitor-start", Label: "start capacitor", Place: "outdoor"}
		h := netlist.Device{ID: p.fresh("HR"), Kind: "start-relay", Label: "start relay", Place: "outdoor"}
		b.keep(c, "add", "start-add")
		b.keep(h, "add", "start-add")
		b.want.join(b.comp.ID+".R", c.ID+".1")
		b.want.join(c.ID+".2", h.ID+".1")
		b.want.join(h.ID+".2", b.comp.ID+".S")
		b.want.join(h.ID+".5", b.comp.ID+".C")
	}
	if p.answer["time-delay"] == "add" {
		b.keep(netlist.Device{ID: p.fresh("TD"), Kind: "time-delay", Label: "time-delay relay", Place: "outdoor"}, "add", "delay-add")
	}
	if p.answer["outdoor-sensor"] == "wire" {
		b.want.join(p.sensors[0].ID+".1", p.indoor.ID+".OAT1")
		b.want.join(p.sensors[0].ID+".2", p.indoor.ID+".OAT2")
	}
}

// delay is the time-delay relay of the new unit; "" if it has none.
func (b *blueprint) delay() string {
	i := slices.IndexFunc(b.devices, func(d netlist.Device) bool { return d.Kind == "time-delay" })
	if i < 0 {
		return ""
	}
	return b.devices[i].ID
}
