package match

import (
	"fmt"
	"math"
	"strings"

	"retrostage/thermo/compressor"
)

// Kind is how a compressor compresses.
type Kind string

// The kinds.
const (
	KindUnknown   Kind = ""
	Scroll        Kind = "scroll"
	Rotary        Kind = "rotary"
	Reciprocating Kind = "reciprocating"
)

// Rating is the point at which capacity and power are stated: dew temperatures, K,
// suction superheat and liquid subcooling, K.
type Rating struct{ Evaporating, Condensing, Superheat, Subcooling float64 }

// UsualRating is 45 °F evaporating, 130 °F condensing, 20 °F superheat, 15 °F
// subcooling: the air-conditioning point of AHRI 540-2004, from memory.
func UsualRating() Rating {
	return Rating{(45 + 459.67) / 1.8, (130 + 459.67) / 1.8, 20 / 1.8, 15 / 1.8}
}

// Candidate is a compressor as its data have it. Zero is not known.
type Candidate struct {
	Name         string
	Kind         Kind
	Stages       int
	Refrigerants []string // that it is made for
	Oil          string   // family it comes with
	OilKg        float64

	VoltsLow, Volts float64 // V, its plate; VoltsLow of a range
	Phases          int
	Hertz           float64

	Capacity, Power float64 // W, at Rating
	Rating          Rating  // what is zero in it is taken from UsualRating
	Map             *compressor.Map

	RLA, LRA, BCSC            float64 // A
	Capacitor, CapacitorVolts float64 // F, V
	MaxHigh, MaxLow           float64 // Pa gauge, its own limits
	MaxDischarge              float64 // K
	EvapLow, EvapHigh         float64 // K, its range where no map has an envelope
	CondLow, CondHigh         float64 // K
	Suction, Discharge        float64 // m, connections
	Height                    float64 // m
	Weight                    float64 // kg
	Price                     float64 // money
	Note                      string  // sound, feet and whatever else its data say
}

func (c Candidate) rating() Rating {
	r, usual := c.Rating, UsualRating()
	if r.Evaporating == 0 {
		r.Evaporating = usual.Evaporating
	}
	if r.Condensing == 0 {
		r.Condensing = usual.Condensing
	}
	if r.Superheat == 0 {
		r.Superheat = usual.Superheat
	}
	if r.Subcooling == 0 {
		r.Subcooling = usual.Subcooling
	}
	return r
}

func (c Candidate) check() error {
	if strings.TrimSpace(c.Name) == "" {
		return fmt.Errorf("match: a candidate without a name")
	}
	for _, v := range []struct {
		what string
		x    float64
	}{{"voltage", c.Volts}, {"lower voltage", c.VoltsLow}, {"frequency", c.Hertz}, {"capacity", c.Capacity}, {"power", c.Power}, {"RLA", c.RLA}, {"LRA", c.LRA}, {"BCSC", c.BCSC},
		{"capacitor", c.Capacitor}, {"capacitor voltage", c.CapacitorVolts}, {"high-side limit", c.MaxHigh}, {"low-side limit", c.MaxLow}, {"discharge limit", c.MaxDischarge},
		{"suction connection", c.Suction}, {"discharge connection", c.Discharge}, {"height", c.Height}, {"weight", c.Weight}, {"price", c.Price}, {"oil", c.OilKg},
		{"lowest evaporating temperature", c.EvapLow}, {"highest evaporating temperature", c.EvapHigh}, {"lowest condensing temperature", c.CondLow}, {"highest condensing temperature", c.CondHigh}} {
		if !(v.x >= 0) || math.IsInf(v.x, 0) {
			return fmt.Errorf("match: %s: %s of %g; allowed 0 and up", c.Name, v.what, v.x)
		}
	}
	if c.LRA > 0 && c.RLA > c.LRA {
		return fmt.Errorf("match: %s: RLA %g A above LRA %g A: exchanged?", c.Name, c.RLA, c.LRA)
	}
	if c.Volts > 0 && c.VoltsLow > c.Volts {
		return fmt.Errorf("match: %s: voltage from %g to %g V", c.Name, c.VoltsLow, c.Volts)
	}
	return nil
}
