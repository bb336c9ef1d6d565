package assess

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// TrimSet is the readings of the running unit that belong to one step of the trim, as
// they stood when the step was kept.
//
// It is not a [Set], though both are readings of one moment. A Set is a stretch of the
// record between two changes: it is judged by every finding, outdates what was read before
// it, stands in a column of its own, and one of them is chosen and signed. A step of the
// trim is a line that may be typed by hand or corrected afterwards, and there are several
// within a quarter of an hour: as Sets they would fill the page with columns and each ask
// for all readings anew. What a trim outdates is held by the wait since [record.Trimmed]
// (record.Spans), which both ideas go by.
type TrimSet struct {
	At       time.Time    `json:"at"`
	Readings []SetReading `json:"readings"`
	added    float64      // kg
	read     float64      // K
}

// SetReading is one of them.
type SetReading struct {
	Key   record.Key `json:"key"`
	Value float64    `json:"value"` // in Unit
	Unit  string     `json:"unit"`
}

// trimSetKeys are the readings that a set takes, where they were entered.
var trimSetKeys = []record.Key{record.SuctionPressure, record.SuctionTemp, record.LiquidPressure, record.LiquidTemp, record.DischargeTemp,
	record.OutdoorTemp, record.ReturnDB, record.ReturnWB, record.SupplyDB, record.RunCurrent, record.SettleTime}

// trimStepText is a step as the notes keep it.
func trimStepText(added, read float64) string {
	return strconv.FormatFloat(added/0.45359237*16, 'f', 1, 64) + " " + strconv.FormatFloat(read*1.8, 'f', 1, 64)
}

// KeepTrimStep is what the two notes of the trim hold once the running check's readings
// are kept as a step: the steps, and the readings of each. What went in since the first
// reading is the trim as entered, none counting as zero. It refuses readings that give
// no subcooling (superheat on a fixed bore), and those that were not read anew since
// the step before.
func KeepTrimStep(j *record.Job, r *Report, at time.Time) (steps, sets string, err error) {
	by := "subcooling"
	if j.Text(record.Metering) == record.MeterFixed {
		by = "superheat"
	}
	f, ok := r.Find(by)
	if !ok || !f.Measured {
		return "", "", fmt.Errorf("no %s to keep: %s", by, cmp.Or(f.Reason, "it is not read"))
	}
	added, _ := j.SI(record.Trimmed, 0)
	steps, sets = j.Text(record.TrimSteps), j.Text(record.TrimSets)
	old, err := trimSets(sets)
	if err != nil {
		return "", "", err
	}
	if n := len(old); n > 0 {
		for _, in := range f.Inputs {
			k, err := record.ByName(in.Key)
			if err != nil || k.Step != record.Running || k.Origin != record.Measured {
				continue
			}
			if e, ok := j.Entry(k.Key); ok && !e.Time.After(old[n-1].At) {
				return "", "", fmt.Errorf("%s was not read since the step before: let it settle, and read it again", k.Label)
			}
		}
	}
	step := trimStepText(added, f.Value)
	line := []string{Stamp(at), step}
	for _, k := range trimSetKeys {
		if x, ok := j.Number(k); ok {
			line = append(line, k.String()+" "+strconv.FormatFloat(x.Typed, 'g', -1, 64)+" "+x.Unit.Name)
		}
	}
	return below(steps, step), below(sets, strings.Join(line, "; ")), nil
}

// below adds a line to a note.
func below(text, line string) string {
	if text = strings.TrimRight(text, "\n"); text == "" {
		return line
	}
	return text + "\n" + line
}

// trimSets reads the lines of the sets.
func trimSets(text string) ([]TrimSet, error) {
	var out []TrimSet
	for n, line := range strings.Split(text, "\n") {
		if strings.TrimSpace(line) == "" {
			continue
		}
		bad := func(why string) ([]TrimSet, error) {
			return nil, fmt.Errorf("readings of the trim's steps, line %d: %s", n+1, why)
		}
		parts := strings.Split(line, ";")
		if n >= 50 || len(parts) < 2 || len(parts) > 30 {
			return bad("not an instant, a step and readings, or more than 50 lines")
		}
		var s TrimSet
		var err error
		if s.At, err = time.Parse(time.RFC3339, strings.TrimSpace(parts[0])); err != nil {
			return bad("no instant")
		}
		added, read, err := trimReadings(parts[1])
		if err != nil || len(added) != 1 {
			return bad("no step")
		}
		s.added, s.read = added[0], read[0]
		for _, p := range parts[2:] {
			w := strings.Fields(p)
			if len(w) != 3 {
				return bad("a reading is a name, a number and a unit")
			}
			f, err := record.ByName(w[0])
			if err != nil {
				return bad(err.Error())
			}
			x, err := units.Number(w[1])
			if err != nil {
				return bad(err.Error())
			}
			if _, err := units.Lookup(f.Dim, w[2]); err != nil {
				return bad(err.Error())
			}
			s.Readings = append(s.Readings, SetReading{Key: f.Key, Value: x, Unit: w[2]})
		}
		out = append(out, s)
	}
	return out, nil
}

// setNames are the readings of a step in short.
var setNames = map[record.Key]string{record.SuctionPressure: "suction", record.SuctionTemp: "at", record.LiquidPressure: "liquid", record.LiquidTemp: "at", record.DischargeTemp: "discharge",
	record.OutdoorTemp: "outdoor air", record.ReturnDB: "return air", record.ReturnWB: "wet bulb", record.SupplyDB: "supply air", record.RunCurrent: "compressor", record.SettleTime: "had run"}

// Words are the readings with their time, in a line and in the units of a system; site
// is the air's pressure, Pa. Without a set there are none.
func (s *TrimSet) Words(system units.System, site float64) string {
	if s == nil {
		return ""
	}
	var out []string
	for _, r := range s.Readings {
		f := r.Key.Field()
		from, err := units.Lookup(f.Dim, r.Unit)
		if err != nil {
			continue
		}
		to := units.Preferred(f.Dim, system)
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s %.1f %s", setNames[r.Key], to.FromSI(from.ToSI(r.Value, site), site), to.Label)))
	}
	return s.At.Format("15:04") + ": " + strings.Join(out, "; ") + "."
}

// setOf is the set that was kept with a step; nil where it was typed by hand, or
// changed since.
func setOf(sets []TrimSet, added, read float64) *TrimSet {
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-6 }
	for i := range sets {
		if near(sets[i].added, added) && near(sets[i].read, read) {
			return &sets[i]
		}
	}
	return nil
}
