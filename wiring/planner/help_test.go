package planner

import (
	"testing"

	"retrostage/wiring/netlist"
)

func load(t testing.TB, name string) *netlist.Unit {
	t.Helper()
	u, err := netlist.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return u
}
func each(f func(name, indoor string)) {
	for _, name := range netlist.Catalogue() {
		for _, indoor := range []string{"conventional", "digital"} {
			f(name, indoor)
		}
	}
}
