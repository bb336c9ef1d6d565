package proof

import (
	"encoding/json"
	"fmt"
	"strconv"
	"sync"

	"retrostage/assets"
)

// rulebook is what the judge reads of assets/wiring-rules/rules.json, and the
// standard sizes of overcurrent devices.
type rulebook struct {
	Limits limits `json:"limits"`
	sizes  []float64
	sizeOf string // their source

	grounds  []groundRow // by the device ahead
	groundOf string

	nominals   []nominal
	nominalsOf string
}

// nominal is a group of nominal supply voltages and the plates that are for them.
type nominal struct {
	Supply []float64 `json:"supply"`
	Plates []float64 `json:"plates"`
}

type groundRow struct {
	To    float64 `json:"to_A"`
	Gauge string  `json:"gauge"`
}

type limits struct {
	Class2Volts      float64         `json:"class2-volts"`
	Class2VA         float64         `json:"class2-va"`
	Class2Source     string          `json:"class2-source"`
	Class2Fuse       float64         `json:"class2-fuse"`     // A, at most, where the source does not limit itself
	Class2Inherent   float64         `json:"class2-inherent"` // A prospective, at most, of one that does
	Class2FuseSource string          `json:"class2-fuse-source"`
	Overload         float64         `json:"overload-factor"` // of rated-load current
	OverloadSource   string          `json:"overload-factor-source"`
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

	DutyPart           float64 `json:"duty-part"`
	DutyVolts          float64 `json:"duty-volts"`
	DutySource         string  `json:"duty-source"`
	TouchVolts         float64 `json:"touch-volts"`
	TouchSource        string  `json:"touch-source"`
	GroundAmps         float64 `json:"ground-amps"`
	GroundSource       string  `json:"ground-source"`
	GroundSwitchSource string  `json:"ground-switch-source"`
	GroundLandedSource string  `json:"ground-landed-source"`
	ContactVolts       float64 `json:"contact-volts"` // across a closed line contact
	IdleAmps           float64 `json:"idle-amps"`
	IdleSource         string  `json:"idle-source"`
	LoadWatts          float64 `json:"load-watts"`
	LoadSource         string  `json:"load-source"`
	PhasePart          float64 `json:"phase-part"`
	PhaseSource        string  `json:"phase-source"`
	Overcurrent        float64 `json:"overcurrent-factor"`
	OvercurrentStart   float64 `json:"overcurrent-start-factor"`
	OvercurrentFloor   float64 `json:"overcurrent-floor"`
	OvercurrentSource  string  `json:"overcurrent-source"`
	ContactorSource    string  `json:"contactor-source"`
	RestartSeconds     float64 `json:"restart-seconds"`
	RestartSource      string  `json:"restart-source"`
}

var book = sync.OnceValues(func() (*rulebook, error) {
	var b rulebook
	var sizes struct {
		Source string    `json:"source"`
		Sizes  []float64 `json:"sizes"`
	}
	var grounds struct {
		Source string      `json:"source"`
		Rows   []groundRow `json:"rows"`
	}
	var volts struct {
		Source   string    `json:"source"`
		Mark     string    `json:"confidence"`
		Nominals []nominal `json:"nominals"`
	}
	for name, into := range map[string]any{"electrical/voltage.json": &volts, "wiring-rules/rules.json": &b, "electrical/overcurrent.json": &sizes, "electrical/grounding.json": &grounds} {
		data, err := assets.FS.ReadFile(name)
		if err == nil {
			err = json.Unmarshal(data, into)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	b.sizes, b.sizeOf = sizes.Sizes, sizes.Source
	b.grounds, b.groundOf = grounds.Rows, grounds.Source
	b.nominals, b.nominalsOf = volts.Nominals, volts.Source+"; "+volts.Mark
	return &b, nil
})

// ampacity of a conductor in amperes, 0 if the table has no such gauge.
func (l *limits) ampacity(gauge int, class2 bool) float64 {
	if class2 {
		if a := l.Class2Ampacity[gauge]; a > 0 {
			return a
		}
	}
	return l.Ampacity[gauge]
}

// sizeUp is the next standard size at or above some amperes; the largest known if
// there is none.
func (b *rulebook) sizeUp(amps float64) float64 {
	for _, s := range b.sizes {
		if s >= amps {
			return s
		}
	}
	return b.sizes[len(b.sizes)-1]
}

// groundGauge is the thinnest copper ground for a device of some amperes, AWG; the
// thickest known if there is none.
func (b *rulebook) groundGauge(amps float64) (gauge int) {
	for _, r := range b.grounds {
		gauge, _ = strconv.Atoi(r.Gauge)
		if amps <= r.To {
			break
		}
	}
	return gauge
}
