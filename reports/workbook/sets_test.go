package workbook_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// Sets of readings stand side by side on the running check's page, with what was done
// between them and which is handed over; what was typed there is text and no formula,
// and the sheet's own formulas are of the set handed over.
func TestSets(t *testing.T) {
	t.Parallel()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	put := func(key record.Key, value, unit string) {
		t.Helper()
		if err := j.Set(record.Entry{Key: key, Value: value, Unit: unit, Time: time.Unix(1.79e9, 0), By: "T-07"}); err != nil {
			t.Fatal(err)
		}
	}
	put(record.SetDetail, "=4 oz", "")
	put(record.SetDone, record.SetChargeIn, "")
	for _, key := range []record.Key{record.SuctionPressure, record.SuctionTemp, record.LiquidPressure, record.DischargePressure, record.DischargeTemp, record.OutdoorTemp, record.ReturnDB, record.ReturnWB, record.SupplyDB, record.SettleTime, record.RunCurrent} {
		if e, ok := j.Entry(key); ok {
			put(key, e.Value, e.Unit)
		}
	}
	put(record.LiquidTemp, "96.4", "F")
	put(record.HandedSet, "2", "n")
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := workbook.Write(&b, assess.New(j), workbook.Options{}); err != nil {
		t.Fatal(err)
	}
	whole := b.Bytes()
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := f.GetRows("Running check")
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, r := range rows {
		all = append(all, strings.Join(r, "|"))
	}
	text := strings.Join(all, "\n")
	for _, want := range []string{"sets of readings side by side", "2 (handed over)", "After set 1", "refrigerant added: =4 oz", "T-07", ", up"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page has not %q", want)
		}
	}
	sub, _ := r.Find("subcooling")
	if !sub.Measured || sub.Value*1.8 < 12 {
		t.Errorf("subcooling of the set handed over: %g F", sub.Value*1.8)
	}
	got, err := workbook.Read(bytes.NewReader(whole), int64(len(whole)))
	if err != nil {
		t.Fatal(err)
	}
	if got.State != workbook.AsExported {
		t.Errorf("read back: %v", got.State)
	}
}
