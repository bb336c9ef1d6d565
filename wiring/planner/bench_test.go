package planner

import (
	"context"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// BenchmarkPlan: the search alone, without proof; the slowest case of each unit.
func BenchmarkPlan(b *testing.B) {
	for _, name := range netlist.Catalogue() {
		u := load(b, name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Plan(u, DefaultTarget(), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkProof: all states of the new circuit; wanted: under 50 ms.
func BenchmarkProof(b *testing.B) {
	for _, name := range netlist.Catalogue() {
		r, err := Plan(load(b, name), DefaultTarget(), nil)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			states := 0
			for b.Loop() {
				p, err := proof.Prove(context.Background(), r.old, r.New, r.data(), nil)
				if err != nil {
					b.Fatal(err)
				}
				states = p.States
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms/proof")
			b.ReportMetric(float64(states), "states")
		})
	}
}

// BenchmarkFaults: all single faults in all states of the new circuit, on all
// processors; wanted: under 2 s on two.
func BenchmarkFaults(b *testing.B) {
	for _, name := range netlist.Catalogue() {
		r, err := Plan(load(b, name), DefaultTarget(), nil)
		if err != nil {
			b.Fatal(err)
		}
		c, err := netlist.Compile(r.New)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				f, _, err := TryFaults(context.Background(), c, nil)
				if err != nil {
					b.Fatal(err)
				}
				n = len(f)
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms/all")
			b.ReportMetric(float64(n), "faults")
			b.ReportMetric(float64(n*c.States()), "solutions")
		})
	}
}

// BenchmarkNext: the next reading when none is taken yet, the slowest case.
func BenchmarkNext(b *testing.B) {
	r := converted(b, "two-contactor-digital", "digital")
	for b.Loop() {
		if _, err := Next(context.Background(), r, nil); err != nil {
			b.Fatal(err)
		}
	}
}
