package plan

import (
	"flag"
	"fmt"
	"os"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

var update = flag.Bool("update", false, "write the demo job's check-out anew, as its plan asks for it")

// TestDemoCheckout keeps the demo job's check-out that of its plan: the list, and an
// invented reading near what each line should show. With -update the readings are
// made and the job is written.
func TestDemoCheckout(t *testing.T) {
	j := demo(t)
	p, err := Proved(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !*update {
		if !Compared(j) {
			t.Error("the demo job's drawing is not the one that was compared")
		}
		if want := Asks(j, p.Checkout); want != j.Text(record.CheckoutList) {
			t.Fatalf("the demo job's list is not that of its plan; go test ./reports/plan -run DemoCheckout -update makes it anew:\n%s\nwant\n%s", j.Text(record.CheckoutList), want)
		}
		return
	}
	made := func(list string, from time.Time) (out []record.Entry) {
		for i, q := range p.Checkout.Tests {
			if q.Role != "find" || q.List != list {
				continue
			}
			off := 0.3 * float64(i%5-2) / 2 // parts of the tolerance
			v := fmt.Sprintf("%.2f", max(0, q.Expect+off*q.Tolerance))
			if q.Open {
				v = record.OpenLine
			}
			out = append(out, record.Entry{Key: TestKey(q), Value: v, Unit: TestKey(q).Field().Unit, Time: from.Add(time.Duration(len(out)) * time.Minute), Instrument: "M1", By: "T-07"})
		}
		return out
	}
	var es []record.Entry
	for _, e := range j.Entries {
		switch at := e.Key; {
		case at == record.CheckoutList:
			es = append(es, made(planner.Dead, e.Time.Add(-40*time.Minute))...)
			e.Value = Asks(j, p.Checkout)
			es = append(es, e)
		case at == record.UnitCompared:
			if e.Value, err = DrawingMark(j); err != nil {
				t.Fatal(err)
			}
			es = append(es, e)
		case record.IsMeter(at):
		case at == record.SettleTime:
			es = append(es, made(planner.Live, e.Time.Add(-20*time.Minute))...)
			es = append(es, e)
		default:
			es = append(es, e)
		}
	}
	j.Entries = es
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := record.Decode(b); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("../../assets/demo/demo-four-ton.job.json", b, 0o644); err != nil {
		t.Fatal(err)
	}
}
