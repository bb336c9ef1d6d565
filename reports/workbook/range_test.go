package workbook

import (
	"io"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// Whatever form a number was typed in that the record takes, a plate's range among
// them, the workbook is written.
func TestEveryFormOfANumberIsWritten(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	for key, text := range map[record.Key]string{record.NewVoltage: "208-230", record.TagCharge: "8 lb 4 oz", record.OldRCS: record.OpenLine, record.NewRLA: "16 1/2"} {
		e, _ := j.Entry(key)
		e.Key, e.Value, e.Time = key, text, time.Unix(1.79e9, 0)
		if e.Unit == "" {
			e.Unit = key.Field().Unit
		}
		if err := j.Set(e); err != nil {
			t.Errorf("%s %q is not taken: %v", key, text, err)
		}
	}
	if err := Write(io.Discard, assess.New(j), Options{Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Error(err)
	}
}
