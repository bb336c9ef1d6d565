package orderlist

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// All that Match lists stands on the page, and above it what is not known or does not fit;
// a job without a compressor to order has none.
func TestTheOrderStandsOnAPage(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	a := assess.New(j)
	ps, err := parts(a)
	if err != nil {
		t.Fatal(err)
	}
	text := fmt.Sprint(ps)
	m, err := a.Matches()
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Order) < 3 || len(m.Bring) < 3 {
		t.Fatalf("the demo job orders %d and brings %d", len(m.Order), len(m.Bring))
	}
	for _, l := range append(m.Order, m.Bring...) {
		if !strings.Contains(text, l.Spec) || !strings.Contains(strings.ToLower(text), strings.ToLower(l.What)) {
			t.Errorf("not on the page: %+v", l)
		}
	}
	if !strings.Contains(text, "high side, not known") || ps[0].Title != "Before it is ordered" {
		t.Errorf("what is not known is not said first: %s", text)
	}
	for _, paper := range []string{"Letter", "A4"} {
		var x, y bytes.Buffer
		if err := Write(&x, assess.New(j), paper); err != nil {
			t.Fatal(err)
		}
		if err := Write(&y, assess.New(j), paper); err != nil || !bytes.Equal(x.Bytes(), y.Bytes()) {
			t.Errorf("%s: another page of the same job (%v)", paper, err)
		}
	}
	if err := Write(&bytes.Buffer{}, assess.New(record.New("empty")), "A4"); err == nil {
		t.Error("a page for an empty job")
	}
	if err := j.Set(record.Entry{Key: record.Decision, Value: "leave it", Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	if err := Write(&bytes.Buffer{}, assess.New(j), "A4"); err == nil {
		t.Error("a page for a job that orders nothing")
	}
}
