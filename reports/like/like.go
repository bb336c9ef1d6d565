// Package like begins a job with what it shares with an earlier one: the unit and its
// plate, the controls with their wiring decisions, the data of compressor, capacitor
// and contactor, prices, texts, instruments. All of it is kept as drafts: nothing is
// reckoned with it, and nothing of it can be signed, until somebody who stands before
// the unit confirms it, a group at a time. Readings, serial numbers, dates and
// signatures are never taken, nor what belongs to the house and not to the unit.
package like

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"retrostage/reports/record"
)

// taken are the fields that one job may take from another. A field that is not here
// is asked anew: so is any new one until it is put here.
var taken = []record.Key{
	record.Refrigerant, record.Metering, record.NominalCapacity, record.OldUnitModel, record.OldCompressorModel,
	record.RatedVoltage, record.RatedFrequency, record.Phases, record.OldRLA, record.OldLRA, record.OldCapRating, record.FanFLA,
	record.PlateMCA, record.PlateMOCP, record.OldPoles, record.TagCharge, record.TagSubcooling, record.TagSuperheat,
	record.OldRStart, record.OldRRun, record.HeatPump, record.OldSeasonal, record.OldLowCapacity, record.ValveBleeds, record.FixedBore,
	record.StubSuction, record.StubDischarge, record.CabinetRoom,
	record.CostLike, record.CostConvert, record.CostReplace, record.CostSystem, record.PriceSpread, record.ConvertPart, record.DisposalCost,
	record.WarrantyLike, record.WarrantyConvert, record.WarrantyReplace, record.WarrantySystem, record.Tariff, record.NewSeasonal, record.SystemSeasonal,
	record.GasPrice, record.GasRise, record.DiscountRate, record.CompressorLife, record.UnitLife, record.CoilLife,
	record.Candidates, record.NewPower, record.NewKind, record.NewRefrigerants, record.NewMaxHigh, record.NewMaxLow, record.NewStages,
	record.NewCompressorModel, record.NewCapacity, record.NewRLA, record.NewLRA, record.NewVoltage, record.NewBCSC, record.NewRStart, record.NewRRun, record.NewOil,
	record.CapRating, record.CapVoltageNeeded, record.CapFitted, record.CapTolerance, record.CapVoltage,
	record.ContactorFLA, record.ContactorLRA, record.ContactorPoles,
	record.MapMassFlow, record.MapUnits, record.MapPower, record.MapCurrent, record.MapSuperheat, record.MapReturnGas,
	record.IndoorControl, record.OldControls,
	record.CoilVA, record.CoilVolts, record.SolenoidVA, record.SolenoidVolts, record.HeaterWatts, record.HeaterVolts, record.HeaterKind,
	record.FanCapRating, record.TransformerVA,
	record.DesignLow, record.DesignHigh,
	record.LineIncluded, record.OldFree, record.NewFree, record.OldOilCharge, record.NewOilCharge,
	record.OwnerAdvice,
}

// What is no field is kept under keys of its own.
var (
	unitKey  = record.PlanKey("like/unit")
	toolsKey = record.PlanKey("like/instruments")
)

// onPlate are entries of other steps that stand on the plate of the unit: they are
// compared at the same look as what Intake asks of it.
var onPlate = []record.Key{record.DesignLow, record.DesignHigh}

// Groups that are no group of fields: what is compared at one look is one touch.
const (
	Plate       = "Unit and plate"         // all that stands on the outdoor unit
	Controls    = "Controls and decisions" // which controls, and what was decided of them
	Unit        = "Unit as drawn"
	Instruments = "Instruments"
)

// Begin puts into a new job what it may take from an earlier one.
func Begin(j, from *record.Job) error {
	put := func(key record.Key, value, unit string) error {
		return j.TakeDraft(record.Draft{Key: key, Value: value, Unit: unit, From: from.ID, Reason: "from job " + from.ID + ", not confirmed here yet"})
	}
	for _, key := range taken {
		if e, ok := from.Entry(key); ok {
			if err := put(key, e.Value, e.Unit); err != nil {
				return err
			}
		}
	}
	answered := map[record.Key]bool{}
	for _, e := range slices.Backward(from.Entries) {
		_, plan := record.PlanName(e.Key)
		if !plan || answered[e.Key] {
			continue
		}
		answered[e.Key] = true
		// A reason for which something is left out is that job's alone.
		if now, ok := from.Entry(e.Key); ok && !strings.Contains(now.Value, " ") {
			if err := put(e.Key, now.Value, ""); err != nil {
				return err
			}
		}
	}
	if b, err := compact(from.Unit); err == nil && len(b) > 0 && len(b) <= record.MaxText {
		if err := put(unitKey, b, ""); err != nil {
			return err
		}
	}
	if b, err := json.Marshal(from.Instruments); err == nil && len(from.Instruments) > 0 && len(b) <= record.MaxText {
		return put(toolsKey, string(b), "")
	}
	return nil
}

func compact(raw []byte) (string, error) {
	if len(raw) == 0 {
		return "", nil
	}
	b, err := json.Marshal(json.RawMessage(raw))
	return string(b), err
}

// Group is what one touch confirms.
type Group struct {
	Step   record.Step
	Name   string // of the group of fields, or one of the constants
	From   string // the job it was taken from
	Drafts []record.Draft
}

// Open lists what of a job is not confirmed, in the order of the steps.
func Open(j *record.Job) (out []Group) {
	for _, s := range record.Steps {
		for _, d := range j.Drafts {
			step, name := of(d.Key)
			if d.From == "" || step != s.Step {
				continue
			}
			i := slices.IndexFunc(out, func(g Group) bool { return g.Step == step && g.Name == name })
			if i < 0 {
				i, out = len(out), append(out, Group{Step: step, Name: name, From: d.From})
			}
			out[i].Drafts = append(out[i].Drafts, d)
		}
	}
	return out
}

// Find is the group of that name, with nothing in it where all is confirmed.
func Find(j *record.Job, step record.Step, name string) Group {
	for _, g := range Open(j) {
		if g.Step == step && g.Name == name {
			return g
		}
	}
	return Group{Step: step, Name: name}
}

// Is tells whether a draft stands for something that is no field: no text of it is
// to be shown.
func Is(key record.Key) bool { return key == unitKey || key == toolsKey }

func of(key record.Key) (record.Step, string) {
	switch key {
	case unitKey:
		return record.Wiring, Unit
	case toolsKey:
		return record.Intake, Instruments
	}
	if _, plan := record.PlanName(key); plan {
		return record.Wiring, Controls
	}
	if slices.Contains(onPlate, key) {
		key = record.RatedVoltage
	}
	f := key.Field()
	switch {
	case f.Step == record.Intake && (f.Group == "Unit" || f.Group == "Plate"):
		return f.Step, Plate
	case f.Step == record.Wiring:
		return f.Step, Controls
	}
	return f.Step, f.Group
}

// Confirm enters a group: now, by whoever stands before the unit. What cannot be
// entered stays, with the reason, and the error names it.
func Confirm(j *record.Job, g Group, now time.Time, by string) error {
	var first error
	for _, d := range g.Drafts {
		if is, ok := j.Draft(d.Key); !ok || is != d {
			continue // changed meanwhile
		}
		if err := confirm(j, d, now, by); err != nil {
			d.Reason = fmt.Sprintf("from job %s, and cannot be entered: %v", d.From, err)
			if keep := j.TakeDraft(d); first == nil {
				first = err
				if keep != nil {
					first = keep
				}
			}
		}
	}
	return first
}

func confirm(j *record.Job, d record.Draft, now time.Time, by string) error {
	switch d.Key {
	case unitKey:
		if err := j.TakeUnit([]byte(d.Value)); err != nil {
			return err
		}
	case toolsKey:
		var list []record.Instrument
		if err := json.Unmarshal([]byte(d.Value), &list); err != nil {
			return err
		}
		all := slices.Clone(j.Instruments)
		for _, in := range list {
			if _, has := j.Instrument(in.ID); !has {
				all = append(all, in)
			}
		}
		if err := j.TakeInstruments(all); err != nil {
			return err
		}
	default:
		return j.Take(record.Entry{Key: d.Key, Value: d.Value, Unit: d.Unit, Time: now.Truncate(time.Second), By: by, Visit: j.Text(record.VisitNow)})
	}
	return j.TakeDraft(record.Draft{Key: d.Key})
}

// Forget lets a group go: what was taken is not so here.
func Forget(j *record.Job, g Group) error {
	for _, d := range g.Drafts {
		if is, ok := j.Draft(d.Key); ok && is == d {
			if err := j.TakeDraft(record.Draft{Key: d.Key}); err != nil {
				return err
			}
		}
	}
	return nil
}

// Tools names the instruments of a group.
func Tools(g Group) (names []string) {
	for _, d := range g.Drafts {
		var list []record.Instrument
		if d.Key == toolsKey && json.Unmarshal([]byte(d.Value), &list) == nil {
			for _, in := range list {
				name := in.Name
				if in.Calibrated != "" {
					name += ", calibrated " + in.Calibrated
				}
				names = append(names, name)
			}
		}
	}
	return names
}
