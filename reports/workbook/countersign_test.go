package workbook_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

func supervisorKey() ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))
}

func countersigned(t *testing.T, b []byte, decision, remarks string) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := workbook.Countersign(context.Background(), &out, b, supervisorKey(), "S. Pervisor", decision, remarks, time.Date(2026, 9, 1, 15, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// A decision under a supervisor's key is told with its key, keeps the tablet's
// signature, and holds for this workbook and these words alone.
func TestCountersign(t *testing.T) {
	t.Parallel()
	plain := make1(t, 11, 0, workbook.Options{Key: tabletKey()})
	good := countersigned(t, plain, workbook.Return, "see the breaker")
	r, err := verify(good)
	if err != nil || r.State != workbook.Signed || r.Check != workbook.Rebuilt || r.Key != workbook.KnownKey {
		t.Fatalf("%s, %s, %s, %v, %v", r.State, r.Check, r.Key, r.Changes, err)
	}
	if c := r.Countersigned; c == nil || c.Key != workbook.KeyID(supervisorKey().Public().(ed25519.PublicKey)) || c.Decision != workbook.Return || c.Remarks != "see the breaker" {
		t.Errorf("%+v", r.Countersigned)
	}
	for name, change := range map[string]func(f *excelize.File) error{
		"decision": func(f *excelize.File) error {
			sheet, cell := at(t, f, "sign_decision")
			return f.SetCellValue(sheet, cell, "accept "+workbook.SignCode(r.Digest))
		},
		"remarks": func(f *excelize.File) error {
			sheet, cell := at(t, f, "sign_remarks")
			return f.SetCellValue(sheet, cell, "-")
		},
		"name": func(f *excelize.File) error {
			sheet, cell := at(t, f, "sign_name")
			return f.SetCellValue(sheet, cell, "Another One")
		},
		"date": func(f *excelize.File) error {
			sheet, cell := at(t, f, "sign_date")
			return f.SetCellValue(sheet, cell, "2026-12-01")
		},
	} {
		if r, err := verify(edit(t, good, change)); err != nil || r.State != workbook.Altered {
			t.Errorf("%s changed after: %s, %v", name, r.State, err)
		}
	}
	// Taken from one workbook to another it fits nothing.
	counter := ""
	edit(t, good, func(f *excelize.File) error { counter, err = f.GetCellValue("Seal", "B7"); return err })
	if len(counter) < 100 {
		t.Fatalf("no countersignature on the seal: %q", counter)
	}
	other := make1(t, 11, 1, workbook.Options{Key: tabletKey()})
	moved := edit(t, other, func(f *excelize.File) error {
		return f.SetSheetRow("Seal", "A7", &[]any{"Retrostage countersignature Ed25519", counter})
	})
	if r, err := verify(moved); err == nil || r.State != workbook.Damaged || !strings.Contains(err.Error(), "does not fit this workbook") {
		t.Errorf("moved to another job: %s, %v", r.State, err)
	}
	var out bytes.Buffer
	for name, b := range map[string][]byte{"signed": signedBook(t), "countersigned": good, "altered": edit(t, plain, func(f *excelize.File) error { return f.SetCellValue("Readings", "C9", 3) })} {
		if err := workbook.Countersign(context.Background(), &out, b, supervisorKey(), "S. Pervisor", workbook.Accept, "", time.Now()); err == nil {
			t.Errorf("%s: countersigned", name)
		}
	}
	if err := workbook.Countersign(context.Background(), &out, plain, supervisorKey(), "S. Pervisor", workbook.Return, " ", time.Now()); err == nil {
		t.Error("returned without a word")
	}
	var pdf bytes.Buffer
	if err := r.OnePage(&pdf); err != nil || !bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")) || bytes.Count(pdf.Bytes(), []byte("/Type /Page\n")) != 1 {
		t.Errorf("the one page: %v, %d bytes", err, pdf.Len())
	}
}

// A signature block that carries another job's code was copied; one without a code was
// not chosen from its list. Neither is signed.
func TestCopiedSignature(t *testing.T) {
	t.Parallel()
	from, err := workbook.ReadBytes(make1(t, 11, 0, workbook.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	b := make1(t, 11, 1, workbook.Options{Sign: workbook.Signature{Name: "S. Pervisor", Date: "2026-09-01", Decision: "accept"}})
	for _, c := range []struct {
		decision string
		state    workbook.State
		copied   bool
	}{{"accept " + workbook.SignCode(from.Digest), workbook.PartSigned, true}, {"accept", workbook.PartSigned, false}, {"accept 12", workbook.PartSigned, false}} {
		r, err := workbook.ReadBytes(edit(t, b, func(f *excelize.File) error {
			sheet, cell := at(t, f, "sign_decision")
			return f.SetCellValue(sheet, cell, c.decision)
		}))
		if err != nil || r.State != c.state || (r.Copied != "") != c.copied {
			t.Errorf("%s: %s, copied %q, %v, %v", c.decision, r.State, r.Copied, r.Missing, err)
		}
	}
}

// The tablet counts a job's exports and names the one before; a copy of the same record
// is none.
func TestLedger(t *testing.T) {
	t.Parallel()
	j, _, err := demo.Job(11, 0)
	if err != nil {
		t.Fatal(err)
	}
	key := filepath.Join(t.TempDir(), "tablet.pem")
	export := func() workbook.Reading {
		t.Helper()
		l, err := workbook.OpenLedger(key)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := workbook.Write(&b, assess.New(j), workbook.Options{Key: tabletKey(), Ledger: l}); err != nil {
			t.Fatal(err)
		}
		r, err := verify(b.Bytes())
		if err != nil || r.State != workbook.AsExported || r.Check != workbook.Rebuilt {
			t.Fatalf("%s, %v, %v", r.State, r.Changes, err)
		}
		if err := l.Keep(r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	first, copied := export(), export()
	if first.Count != 1 || first.Previous != "" || copied.Count != 1 || copied.Export != first.Export {
		t.Errorf("%d %q, %d", first.Count, first.Previous, copied.Count)
	}
	if err := j.Set(record.Entry{Key: record.OwnerAdvice, Value: "corrected", Time: j.Entries[len(j.Entries)-1].Time.Add(time.Minute)}); err != nil {
		t.Fatal(err)
	}
	if second := export(); second.Count != 2 || second.Previous != first.Export {
		t.Errorf("%d, %q after %q", second.Count, second.Previous, first.Export)
	}
}
