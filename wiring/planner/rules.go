package planner

import (
	"encoding/json"
	"fmt"
	"sync"

	"retrostage/assets"
)

// A Rule is why something is done, and who says so.
type Rule struct {
	Reason  string `json:"reason"`
	Source  string `json:"source"`
	Caution string `json:"caution,omitempty"` // key into the cautions
}

// rulebook is assets/wiring-rules/rules.json.
type rulebook struct {
	Note     string             `json:"note"`
	Rules    map[string]Rule    `json:"rules"`
	Cautions map[string]string  `json:"cautions"`
	Costs    map[string]any     `json:"costs"`
	Lost     []Lost             `json:"lost"`
	LostFrom string             `json:"lost-source"`
	Limits   limits             `json:"limits"`
	Meter    meter              `json:"meter"`
	cost     map[string]float64 // the numbers of Costs
	sizes    []float64          // standard overcurrent devices, A
	grounds  []groundRow
	groundOf string // their source
}

// groundRow is the thinnest copper ground, AWG, behind a device of up to some amperes.
type groundRow struct {
	to    float64
	gauge int
}

type limits struct {
	Class2Volts      float64         `json:"class2-volts"`
	Class2VA         float64         `json:"class2-va"`
	Class2Source     string          `json:"class2-source"`
	Ampacity         map[int]float64 `json:"ampacity"`
	AmpacitySource   string          `json:"ampacity-source"`
	Class2Ampacity   map[int]float64 `json:"class2-ampacity"`
	Class2AmpSource  string          `json:"class2-ampacity-source"`
	CompressorFactor float64         `json:"compressor-factor"`
	CompressorSource string          `json:"compressor-factor-source"`
	CoilHigh         float64         `json:"coil-high"`
	CoilSource       string          `json:"coil-high-source"`
	ShortFraction    float64         `json:"short-fraction"`
	ShortSource      string          `json:"short-source"`
	CapacitorMatch   float64         `json:"capacitor-match"`
	CapacitorSource  string          `json:"capacitor-match-source"`
	MotorVolts       [2]float64      `json:"motor-volts"`
	MotorSource      string          `json:"motor-volts-source"`
	Overcurrent      float64         `json:"overcurrent-factor"`
	OvercurrentFloor float64         `json:"overcurrent-floor"`
	RestartSeconds   float64         `json:"restart-seconds"`
	ContactVolts     float64         `json:"contact-volts"` // across a closed contact that is good
}

// meter holds the tolerances of a reading: part of the reading, plus a fixed
// amount in the reading's unit.
type meter struct {
	Volts    [2]float64 `json:"volts"`
	Ohms     [2]float64 `json:"ohms"`
	Amps     [2]float64 `json:"amps"`
	OpenOhms float64    `json:"open-ohms"`
	Source   string     `json:"source"`
	// What a reading costs against one by ohms on a dead circuit, by its kind;
	// "mains": times that on line voltage.
	Effort       map[string]float64 `json:"effort"`
	EffortSource string             `json:"effort-source"`
}

var book = sync.OnceValues(func() (*rulebook, error) {
	data, err := assets.FS.ReadFile("wiring-rules/rules.json")
	if err != nil {
		return nil, err
	}
	var b rulebook
	if err := json.Unmarshal(data, &b); err != nil {
		return nil, fmt.Errorf("wiring rules: %w", err)
	}
	b.cost = map[string]float64{}
	for k, v := range b.Costs {
		if f, ok := v.(float64); ok {
			b.cost[k] = f
		}
	}
	if data, err = assets.FS.ReadFile("electrical/overcurrent.json"); err != nil {
		return nil, err
	}
	var std struct {
		Sizes []float64 `json:"sizes"`
	}
	if err := json.Unmarshal(data, &std); err != nil {
		return nil, fmt.Errorf("overcurrent sizes: %w", err)
	}
	b.sizes = std.Sizes
	if data, err = assets.FS.ReadFile("electrical/grounding.json"); err != nil {
		return nil, err
	}
	var ground struct {
		Source string `json:"source"`
		Rows   []struct {
			To    float64 `json:"to_A"`
			Gauge int     `json:"gauge,string"`
		} `json:"rows"`
	}
	if err := json.Unmarshal(data, &ground); err != nil {
		return nil, fmt.Errorf("grounds: %w", err)
	}
	for _, r := range ground.Rows {
		b.grounds = append(b.grounds, groundRow{r.To, r.Gauge})
	}
	b.groundOf = ground.Source
	return &b, nil
})

// caution is the text of a caution; an unknown key is a fault of the data and
// shows as the key itself.
func (b *rulebook) caution(key string) string {
	if s, ok := b.Cautions[key]; ok || key == "" {
		return s
	}
	return key
}

// ampacity of a conductor in amperes, 0 if the table has no such gauge.
func (l *limits) ampacity(gauge int, class2 bool) float64 {
	if class2 {
		if a := l.Class2Ampacity[gauge]; a > 0 {
			return a
		}
	}
	return l.Ampacity[gauge]
}

// gaugeFor is the thinnest gauge whose ampacity covers the amperes.
func (l *limits) gaugeFor(amps float64) (int, bool) {
	for _, g := range []int{14, 12, 10, 8, 6, 4} {
		if l.Ampacity[g] >= amps {
			return g, true
		}
	}
	return 0, false
}
