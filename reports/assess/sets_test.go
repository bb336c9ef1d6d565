package assess

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// again enters the readings of a running unit anew, some of them changed.
func againWith(t testing.TB, j *record.Job, other map[record.Key]string) {
	t.Helper()
	for key := range inSet {
		e, ok := j.Entry(key)
		if !ok {
			continue
		}
		if v, change := other[key]; change {
			e.Value = v
		}
		e.Time = e.Time.Add(30 * time.Minute)
		if err := j.Set(record.Entry{Key: key, Value: e.Value, Unit: e.Unit, Instrument: e.Instrument, Time: e.Time, By: e.By}); err != nil {
			t.Fatal(err)
		}
	}
}

var fromCharge = []string{"superheat", "subcooling", "evaporating", "condensing", "condensing_over_ambient", "approach", "temp_split", "split_error", "pressure_ratio", "discharge_temp_line", "isentropic_efficiency", "flow_balance", "capacity_refrigerant", "sides_agree", "settled"}

// What was read before a change does not stand for the unit after it, whatever the
// change: nothing that it can have moved is judged until it was read again, and the
// same number read again is a reading.
func TestAChangeOutdatesReadings(t *testing.T) {
	t.Parallel()
	for _, done := range []string{record.SetChargeIn, record.SetChargeOut, record.SetAir, record.SetOutdoor, record.SetIndoor, record.SetOther} {
		j := demo(t)
		before := run(t, j)
		set(t, j, record.SetDone, done, "")
		r := run(t, j)
		for _, key := range fromCharge {
			f, ok := r.Find(key)
			if ok && (f.Measured || f.Verdict != NotMeasured || !strings.Contains(f.Reason, "again: "+done)) {
				t.Errorf("%s: %s is still %s: %s", done, key, f.Verdict, f.Reason)
			}
		}
		blown := done == record.SetAir || done == record.SetIndoor || done == record.SetOther
		if f := find(t, r, "airflow_per_ton"); f.Measured == blown {
			t.Errorf("%s: air flow measured %v", done, f.Measured)
		}
		if f, ok := r.Find("rest_saturation"); ok && f.Measured && done == record.SetOther {
			t.Errorf("%s: the standing pressure still stands", done)
		}
		if s := r.Steps[slices.IndexFunc(r.Steps, func(s State) bool { return s.Step == record.Running })]; s.Word == Done || s.Word == DoneReserved {
			t.Errorf("%s: the running check is %s", done, s.Word)
		}
		d, err := New(j).Causes()
		if err != nil || d.Found || len(d.Missing) == 0 {
			t.Errorf("%s: %v %s", done, err, d.Said())
		}
		if n := len(r.Sets); n != 2 {
			t.Fatalf("%s: %d sets", done, n)
		}
		againWith(t, j, nil)
		set(t, j, record.HandedSet, "2", "n")
		after := run(t, j)
		for _, key := range fromCharge {
			a, ok1 := before.Find(key)
			b, ok2 := after.Find(key)
			if ok1 != ok2 || a.Value != b.Value || a.Verdict != b.Verdict {
				t.Errorf("%s: %s was %g %s, read again %g %s", done, key, a.Value, a.Verdict, b.Value, b.Verdict)
			}
		}
	}
}

// The set handed over is chosen, is one that there is, and is of the unit as it is.
func TestTheSetHandedOver(t *testing.T) {
	t.Parallel()
	against := func(j *record.Job) string {
		for _, m := range run(t, j).Against {
			if m.Key == record.HandedSet.String() {
				return string(m.Stand) + ": " + m.Why
			}
		}
		return ""
	}
	j := demo(t)
	if w := against(j); w != "" {
		t.Errorf("one set: %s", w)
	}
	set(t, j, record.SetDone, record.SetChargeIn, "")
	againWith(t, j, map[record.Key]string{record.LiquidTemp: "97"})
	for n, want := range map[string]string{"": "not measured", "1": "outside: set 1 is of the unit as it was before: refrigerant added", "2": "", "3": "outside: there is no set 3"} {
		k := j.Clone()
		set(t, k, record.HandedSet, n, "n")
		if w := against(k); want == "" && w != "" || !strings.HasPrefix(w, want) {
			t.Errorf("%q chosen: %q, want %q", n, w, want)
		}
	}
	set(t, j, record.HandedSet, "2", "n")
	r := run(t, j)
	if len(r.Sets) != 2 || !r.Sets[1].Handed || r.Sets[0].Handed || r.Sets[0].Done != record.SetChargeIn {
		t.Fatalf("%+v", r.Sets)
	}
	value := func(s Set, key string) SetValue {
		return s.Values[slices.IndexFunc(s.Values, func(v SetValue) bool { return v.Key == key })]
	}
	if a, b := value(r.Sets[0], "subcooling"), value(r.Sets[1], "subcooling"); b.Value-a.Value < 1.1 || b.Moved != Up {
		t.Errorf("subcooling %g to %g: %q", a.Value, b.Value, b.Moved)
	}
	if v := value(r.Sets[1], "superheat"); v.Moved != NotShown {
		t.Errorf("superheat as before: %q", v.Moved)
	}
	// A set read again without a change may be chosen; the findings are then its own.
	set(t, j, record.SetDone, record.SetAgain, "")
	again := run(t, j)
	if f := find(t, again, "subcooling"); !f.Measured || len(again.Sets) != 2 {
		t.Errorf("nothing was changed and nothing read: subcooling %s, %d sets", f.Reason, len(again.Sets))
	}
	againWith(t, j, map[record.Key]string{record.LiquidTemp: "104"})
	for n, want := range map[string]float64{"2": value(r.Sets[1], "subcooling").Value, "3": value(r.Sets[1], "subcooling").Value - 7/1.8} {
		set(t, j, record.HandedSet, n, "n")
		if f := find(t, run(t, j), "subcooling"); !f.Measured || f.Value < want-1e-6 || f.Value > want+1e-6 {
			t.Errorf("set %s handed over: subcooling %g, want %g; %s", n, f.Value, want, f.Reason)
		}
		if w := against(j); w != "" {
			t.Errorf("set %s: %s", n, w)
		}
	}
	// Whatever is done afterwards, it is no longer of this unit.
	set(t, j, record.SetDone, record.SetOutdoor, "")
	if w := against(j); !strings.HasPrefix(w, "outside") {
		t.Errorf("cleaned after the set handed over: %q", w)
	}
}

// A reading and its repeat with a change between them are no repeat, and a log of
// before the change no reading.
func TestNothingCarriesOverAChange(t *testing.T) {
	at := time.Unix(1.79e9, 0)
	j := demo(t)
	e := record.Entry{Key: record.LiquidTemp, Value: "104.5", Unit: "F", Time: at, Instrument: "T2", By: "T-07", Again: true}
	if err := j.Set(e); err != nil {
		t.Fatal(err)
	}
	set(t, j, record.SetDone, record.SetChargeIn, "")
	againWith(t, j, nil)
	set(t, j, record.HandedSet, "2", "n")
	if f := find(t, run(t, j), "subcooling"); f.Verdict != TooClose || f.Near != "" {
		t.Errorf("%s, near %q", f.Verdict, f.Near)
	}
	k := demo(t)
	var sec, temp []float64
	for i := range 60 {
		sec, temp = append(sec, float64(10*i)), append(temp, 101)
	}
	k.AddLog(record.Series{Name: "log", Seconds: sec, Columns: []record.SeriesColumn{{Key: record.LiquidTemp, Unit: "F", Values: temp}}})
	set(t, k, record.LiquidTemp, "", "")
	if f := find(t, run(t, k), "subcooling"); !f.Measured {
		t.Fatalf("the log gives no subcooling: %s", f.Reason)
	}
	set(t, k, record.SetDone, record.SetChargeIn, "")
	againWith(t, k, nil)
	if f := find(t, run(t, k), "subcooling"); f.Measured {
		t.Error("a log of before the change stands for the unit after it")
	}
}

// Two things done with nothing read between outdate what either moves; that nothing was
// done takes neither back; clearing what was closed by mistake does.
func TestThingsDoneAddUp(t *testing.T) {
	j := mend(t, demo(t), entry{record.SetDone, record.SetChargeIn, ""}, entry{record.SetDone, record.SetAir, ""}, entry{record.SetDone, record.SetAgain, ""})
	r := run(t, j)
	if len(r.Sets) != 2 || r.Sets[0].Done != record.SetChargeIn+"; "+record.SetAir {
		t.Fatalf("%d sets, %q", len(r.Sets), r.Sets[0].Done)
	}
	for _, key := range []string{"superheat", "airflow_per_ton"} {
		if f := find(t, r, key); f.Measured {
			t.Errorf("%s stands", key)
		}
	}
	set(t, j, record.SetDone, "", "")
	if r := run(t, j); len(r.Sets) != 0 || !find(t, r, "superheat").Measured {
		t.Errorf("cleared, and %d sets stand", len(r.Sets))
	}
	// The same twice with readings between is two sets.
	k := mend(t, demo(t), entry{record.SetDone, record.SetChargeIn, ""})
	againWith(t, k, nil)
	set(t, k, record.SetDone, record.SetChargeIn, "")
	if r := run(t, k); len(r.Sets) != 3 || find(t, r, "superheat").Measured {
		t.Errorf("added twice: %d sets", len(r.Sets))
	}
}

// Only what moved by more than both doubts is said to have moved.
func TestMovedIsShown(t *testing.T) {
	for d, want := range map[float64]Move{0: NotShown, 1.4: NotShown, 1.5: Up, -1.4: NotShown, -1.5: Down} {
		before := []Set{{Values: []SetValue{{Key: "x", Measured: true, Value: 10, U: 1}}}}
		if m := movedSince(before, SetValue{Key: "x", Measured: true, Value: 10 + d, U: 1}); m != want {
			t.Errorf("%g: %s", d, m)
		}
	}
	if m := movedSince(nil, SetValue{Measured: true}); m != "" {
		t.Error(m)
	}
}

// What shakes stands against the job; a check on too cold a day makes a return visit
// due, and its day is asked for.
func TestLookTouchAndReturn(t *testing.T) {
	t.Parallel()
	stands := func(j *record.Job, key record.Key) bool {
		return slices.ContainsFunc(run(t, j).Against, func(m Matter) bool { return m.Key == key.String() })
	}
	for _, key := range []record.Key{record.VibrationTubing, record.VibrationShell} {
		j := mend(t, demo(t), entry{key, record.Yes, ""})
		if !stands(j, key) {
			t.Errorf("%s: yes does not stand against the job", key)
		}
		if set(t, j, key, record.No, ""); stands(j, key) {
			t.Errorf("%s: no stands against the job", key)
		}
	}
	for outdoor, due := range map[string]bool{"48": true, "55": true, "85": false, "120": false} {
		j := mend(t, demo(t), entry{record.OutdoorTemp, outdoor, "F"}, entry{record.FollowUpDue, "", ""}, entry{record.SuctionFilter, "not needed", ""})
		if stands(j, record.FollowUpDue) != due {
			t.Errorf("%s F: return visit due %v", outdoor, !due)
		}
		if set(t, j, record.FollowUpDue, "2027-06-01", ""); stands(j, record.FollowUpDue) {
			t.Errorf("%s F: still asked for with a day", outdoor)
		}
	}
}

// Ducts against the plate and the usual, the delivered cooling against the rating, the
// bore against the new compressor.
func TestDuctsRatingAndBore(t *testing.T) {
	t.Parallel()
	w := func(k record.Key, v string) entry { return entry{k, v, "inH2O"} }
	for _, c := range []struct {
		set     []entry
		finding string
		want    Verdict
	}{
		{at(w(record.StaticReturn, "0.25"), w(record.StaticSupply, "0.18"), w(record.StaticRated, "0.5")), "external_static", Within},
		{at(w(record.StaticReturn, "0.45"), w(record.StaticSupply, "0.28"), w(record.StaticRated, "0.5")), "external_static", Outside},
		{at(w(record.StaticReturn, "0.29"), w(record.StaticSupply, "0.20"), w(record.StaticRated, "0.5")), "external_static", TooClose},
		{at(w(record.StaticReturn, "0.25"), w(record.StaticSupply, "0.18")), "external_static", NotJudged},
		{at(w(record.StaticReturn, "0.25"), w(record.StaticBefore, "0.15")), "filter_drop", Within},
		{at(w(record.StaticReturn, "0.45"), w(record.StaticBefore, "0.15")), "filter_drop", Outside},
		{at(w(record.StaticReturn, "0.10"), w(record.StaticBefore, "0.25")), "filter_drop", Outside},
		{at(w(record.StaticReturn, "0.15"), w(record.StaticBefore, "0.15")), "filter_drop", TooClose}, // a filter left out, or none that tells
		{at(entry{record.NewCapacity, "80000", "Btu/h"}), "delivered", Outside},
		{at(entry{record.OutdoorTemp, "52", "F"}), "delivered", NotJudged},
	} {
		f := find(t, run(t, mend(t, demo(t), c.set...)), c.finding)
		if f.Verdict != c.want {
			t.Errorf("%v: %s %.4g ± %.2g is %s, want %s (%s)", c.set, c.finding, f.Value, f.Expanded(), f.Verdict, c.want, f.Reason)
		}
	}
	bore := func(fitted string) Finding {
		j := mend(t, demo(t), entry{record.Metering, record.MeterFixed, ""}, entry{record.FixedBore, "0.080", "in"}, entry{record.BoreFitted, fitted, "in"})
		return find(t, run(t, j), "piston")
	}
	f := bore("0.080")
	if !f.Measured {
		t.Fatal(f.Reason)
	}
	needed := 0.080 / (1 + f.Value)
	t.Logf("bore needed %.4f in of 0.080; delivered %+v", needed, find(t, run(t, demo(t)), "delivered").Value)
	for share, want := range map[float64]Verdict{1: Within, 0.85: Outside, 1.15: Outside, 1.06: TooClose} {
		if f := bore(trim(needed * share)); f.Verdict != want {
			t.Errorf("%g of the bore needed: %s", share, f.Verdict)
		}
	}
}

func trim(x float64) string { return strconv.FormatFloat(x, 'f', 5, 64) }
