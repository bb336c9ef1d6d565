package register

import (
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// Row is one file of the register. Text that the file states is as it stands
// there; guard it before it goes into a sheet.
type Row struct {
	File     string         `json:"file"` // below the folder, with slashes
	Size     int64          `json:"size"`
	Modified int64          `json:"modified"`      // ns since 1970
	Sum      string         `json:"sum,omitempty"` // SHA-256 of the file: it is still the one read
	State    workbook.State `json:"state"`
	Reason   string         `json:"reason,omitempty"` // why a damaged file was not read

	Job           string `json:"job,omitempty"`
	Demo          bool   `json:"demo,omitempty"`
	Owner         string `json:"owner,omitempty"`
	Visit         string `json:"visit,omitempty"` // ISO 8601
	Technician    string `json:"technician,omitempty"`
	TechName      string `json:"technician_name,omitempty"` // who signed the hand-over
	Undone        string `json:"undone,omitempty"`          // steps
	Refrigerant   string `json:"refrigerant,omitempty"`
	Failure       string `json:"failure,omitempty"`
	UnitSerial    string `json:"unit_serial,omitempty"`
	OldCompressor string `json:"old_compressor,omitempty"`
	NewCompressor string `json:"new_compressor,omitempty"`

	Within   int    `json:"within,omitempty"`
	Outside  int    `json:"outside,omitempty"`
	TooClose int    `json:"too_close,omitempty"`
	Unjudged int    `json:"unjudged,omitempty"` // not measured or not judged
	Open     string `json:"open,omitempty"`     // what is outside

	SignedBy string `json:"signed_by,omitempty"`
	SignedOn string `json:"signed_on,omitempty"`
	Decision string `json:"decision,omitempty"`
	Remarks  string `json:"remarks,omitempty"`
	Key      string `json:"key,omitempty"`
	Digest   string `json:"digest,omitempty"`
	KeyID    string `json:"key_id,omitempty"`
	Exported string `json:"exported,omitempty"` // day, ISO 8601
	Check    string `json:"check,omitempty"`    // what the workbook was held against
	Photos   int    `json:"photos,omitempty"`   // of the job, when it was exported
	Redrawn  string `json:"redrawn,omitempty"`  // pictures and charts another program left out

	CounterKey string `json:"counter_key,omitempty"` // of a supervisor
	Copied     string `json:"copied,omitempty"`      // code of another job beside the decision
	Other      string `json:"other,omitempty"`       // the version that wrote it, where this one cannot rebuild it
	Export     string `json:"export,omitempty"`      // names the export
	Previous   string `json:"previous,omitempty"`    // the one before
	Count      int    `json:"count,omitempty"`       // which export of the job it is
	ExportedAt string `json:"exported_at,omitempty"` // to the second, UTC
	PartSigned string `json:"part_signed,omitempty"` // what the signature block lacks

	Warranty   string `json:"warranty,omitempty"` // of the unit
	Part       string `json:"part,omitempty"`     // of the new compressor: warranty, supplier, invoice
	FailedPart string `json:"failed_part,omitempty"`
	Labour     string `json:"labour,omitempty"`
	Recovered  string `json:"recovered,omitempty"` // how much and where it went
	Charge     string `json:"charge,omitempty"`    // weighed, and whether running readings verify it
	Left       string `json:"left,omitempty"`      // left open
	FollowUp   string `json:"follow_up,omitempty"`
	FollowDue  string `json:"follow_due,omitempty"`

	Missing string            `json:"missing,omitempty"` // for the warranty, in words
	Changes []workbook.Change `json:"changes,omitempty"`
	More    int               `json:"more,omitempty"`

	// Known only when all files are, or on the day.
	Duplicate   string   `json:"-"`                 // what it shares with which files
	Overdue     int      `json:"-"`                 // days beyond the term without a signature
	Ahead       string   `json:"-"`                 // dates that have not come yet
	Standing    Standing `json:"-"`                 // what is to be done about it, see chase
	Act         string   `json:"-"`                 // the same in words
	Whom        string   `json:"-"`                 // to remind or ask, and since when
	History     string   `json:"-"`                 // the other files of the job
	ExportAhead bool     `json:"-"`                 // the day of the export has not come
	Folded      bool     `json:"-"`                 // told in the row of another file
	CounterWho  string   `json:"-"`                 // of CounterKey, by the office's list
	Foreign     string   `json:"foreign,omitempty"` // what the file is, if it is no workbook of a job
	Own         bool     `json:"-"`                 // who signed did the work
	Unfiled     string   `json:"-"`                 // what keeps it from being filed though nothing is missing
}

// proof is one thing a warranty file has to show: any of its alternatives,
// each a set of fields that all have to be there.
type proof struct {
	words string
	any   [][]record.Key
}

// proofs follow the common practice of warranty returns of compressors: which
// part, when, why, and that the new one was installed right. No published
// source; an office may ask for more.
var proofs = []proof{
	{"owner reference", [][]record.Key{{record.OwnerRef}}},
	{"date of the visit", [][]record.Key{{record.VisitDate}}},
	{"date when the unit was installed", [][]record.Key{{record.UnitInstalled}}},
	{"serial number of the outdoor unit", [][]record.Key{{record.OldUnitSerial}}},
	{"serial number of the failed compressor", [][]record.Key{{record.OldCompressorSerial}}},
	{"serial number of the new compressor", [][]record.Key{{record.NewCompressorSerial}}},
	{"kind of failure", [][]record.Key{{record.FailureKind}}},
	{"cause of the failure", [][]record.Key{{record.RootCause}, {record.RootKind}}},
	{"proof of charge (weighed in and written on the label)", [][]record.Key{{record.WeighedIn, record.LabelCharge}}},
	{"proof of charge (running readings)", [][]record.Key{{record.SuctionPressure, record.SuctionTemp, record.LiquidPressure, record.LiquidTemp}}},
	{"vacuum held", [][]record.Key{{record.VacuumFinal, record.VacuumEnd}}},
	{"electrical check: supply and running current", [][]record.Key{{record.SupplyVoltage, record.RunCurrent}}},
	{"electrical check: run capacitor", [][]record.Key{{record.CapMeter}, {record.CapCurrent, record.CapVolts}}},
	{"electrical check: windings to case", [][]record.Key{{record.Insulation}}},
	{"warranty standing of the unit", [][]record.Key{{record.Warranty}}},
	{"warranty standing of the new part", [][]record.Key{{record.PartWarranty}}},
	{"supplier of the new part", [][]record.Key{{record.PartSupplier}}},
	{"invoice of the new part", [][]record.Key{{record.PartInvoice}}},
	{"date of that invoice", [][]record.Key{{record.PartInvoiced}}},
	{"what became of the failed part", [][]record.Key{{record.FailedPart}}},
	{"labour warranty given", [][]record.Key{{record.LabourWarranty}}},
}

// missing lists in words what a warranty file lacks.
func missing(j *record.Job, r workbook.Reading) string {
	var out []string
	for _, p := range proofs {
		ok := false
		for _, keys := range p.any {
			all := true
			for _, k := range keys {
				all = all && j.Text(k) != ""
			}
			ok = ok || all
		}
		if !ok {
			out = append(out, p.words)
		}
	}
	if j.Text(record.ConsentSigned) == "not yet" {
		out = append(out, "the owner's agreement")
	}
	switch signed, ok := j.Signed(); {
	case !ok:
		out = append(out, "technician's signature")
	case !signed.Stands:
		out = append(out, "technician's signature: the record was changed after it ("+strings.Join(signed.Since, ", ")+")")
	}
	switch {
	case r.Signature == workbook.Signature{}:
		out = append(out, "supervisor's signature")
	case len(r.Missing) > 0:
		out = append(out, "in the signature block: "+strings.Join(r.Missing, ", "))
	case r.Signature.Decision == workbook.Return:
		out = append(out, "acceptance: the supervisor returned it")
	case r.Signature.Date < j.Text(record.VisitDate): // both ISO 8601
		out = append(out, "a signature dated after the visit")
	}
	return strings.Join(out, "; ")
}

// fill takes from a reading what the row keeps.
func (row *Row) fill(r workbook.Reading, err error) {
	row.State = r.State
	defer row.compact()
	if err != nil {
		row.Reason = err.Error()
		return
	}
	j := r.Job
	row.Job, row.Demo, row.Digest, row.Key = j.ID, j.Demo, r.Digest, string(r.Key)
	row.KeyID, row.Check, row.Redrawn, row.Photos = r.KeyID, string(r.Check), strings.Join(r.Redrawn, "; "), len(r.Photos)
	if !r.Exported.IsZero() {
		row.Exported = r.Exported.Format(time.DateOnly)
	}
	if r.KeyID != "" {
		row.Key += " " + r.KeyID
	}
	for _, f := range []struct {
		to  *string
		key record.Key
	}{{&row.Owner, record.OwnerRef}, {&row.Visit, record.VisitDate}, {&row.Technician, record.TechnicianRef}, {&row.Refrigerant, record.Refrigerant},
		{&row.Failure, record.FailureKind}, {&row.UnitSerial, record.OldUnitSerial}, {&row.OldCompressor, record.OldCompressorSerial}, {&row.NewCompressor, record.NewCompressorSerial}} {
		*f.to = j.Text(f.key)
	}
	row.Within, row.Outside, row.TooClose = r.Counts[assess.Within], r.Counts[assess.Outside], r.Counts[assess.TooClose]
	row.Unjudged = r.Counts[assess.NotMeasured] + r.Counts[assess.NotJudged]
	row.Open = strings.Join(r.Outside, "; ")
	row.papers(j, r)
	row.TechName, row.Undone = j.Text(record.SignedBy), strings.Join(r.Undone, ", ")
	row.Copied, row.Export, row.Previous, row.Count, row.Other = r.Copied, r.Export, r.Previous, r.Count, r.Other
	row.ExportedAt = r.Exported.UTC().Format(time.RFC3339)
	if c := r.Countersigned; c != nil {
		row.CounterKey = c.Key
	}
	s := r.Signature
	row.SignedBy, row.SignedOn, row.Decision, row.Remarks = s.Name, s.Date, s.Decision, s.Remarks
	row.Missing = missing(j, r)
	if ext := strings.ToLower(path.Ext(row.File)); row.File != "" && ext != ".xlsx" {
		row.Missing = strings.TrimPrefix(row.Missing+"; a name that ends in .xlsx (it ends in "+ext+" and is none: rename it)", "; ")
	}
	// What was typed over matters most; what formulas made of it follows.
	for _, derived := range []bool{false, true} {
		for _, c := range r.Changes {
			if c.Derived == derived && len(row.Changes) < maxChanges {
				row.Changes = append(row.Changes, c)
			}
		}
	}
	row.More = r.More + len(r.Changes) - len(row.Changes)
}

// maxChanges is how many altered cells a row keeps.
const maxChanges = 20

// Altered puts the changes of a row into words.
func (row *Row) Altered() string {
	var s []string
	for _, c := range row.Changes {
		if !c.Derived {
			s = append(s, c.String())
		}
	}
	n := len(row.Changes) - len(s) + row.More
	if n > 0 {
		s = append(s, fmt.Sprintf("and %d more, calculated ones included", n))
	}
	return strings.Join(s, "; ")
}

// ahead says which dates of the row lie after the day today.
func (row *Row) ahead(today time.Time) string {
	var out []string
	for _, d := range []struct{ what, date string }{{"the visit", row.Visit}, {"the signature", row.SignedOn}} {
		if t, err := time.Parse(time.DateOnly, d.date); err == nil && t.Format(time.DateOnly) > today.Format(time.DateOnly) {
			out = append(out, fmt.Sprintf("a true date of %s (%s has not come yet)", d.what, d.date))
		}
	}
	return strings.Join(out, "; ")
}

// lacks is all that a warranty file lacks, in words.
func (row *Row) lacks() string {
	if row.Missing == "" || row.Ahead == "" {
		return row.Missing + row.Ahead
	}
	return row.Missing + "; " + row.Ahead
}

// papers takes what a clerk asks of the job.
func (row *Row) papers(j *record.Job, r workbook.Reading) {
	join := func(keys ...record.Key) string {
		var s []string
		for _, k := range keys {
			if t := j.Text(k); t != "" {
				s = append(s, t)
			}
		}
		return strings.Join(s, ", ")
	}
	amount := func(k record.Key) string {
		e, ok := j.Entry(k)
		if !ok || e.Value == "" {
			return ""
		}
		return strings.TrimSpace(e.Value + " " + e.Unit)
	}
	row.Warranty, row.FailedPart, row.Labour = j.Text(record.Warranty), j.Text(record.FailedPart), j.Text(record.LabourWarranty)
	row.Part = join(record.PartWarranty, record.PartSupplier, record.PartInvoice, record.PartInvoiced)
	row.Left, row.FollowUp, row.FollowDue = j.Text(record.OpenConditions), j.Text(record.FollowUp), j.Text(record.FollowUpDue)
	row.Recovered = amount(record.Recovered)
	if to := j.Text(record.RecoveryTo); to != "" {
		row.Recovered = strings.TrimPrefix(row.Recovered+", "+to, ", ")
	}
	if row.Charge = amount(record.WeighedIn); row.Charge != "" {
		row.Charge += map[bool]string{true: ", charge verified running", false: ", only weighed"}[r.Charged]
	}
}

// compact cuts what a row keeps loose from the text of the file that it was read from.
func (row *Row) compact() {
	v := reflect.ValueOf(row).Elem()
	for i := range v.NumField() {
		if f := v.Field(i); f.Kind() == reflect.String {
			f.SetString(strings.Clone(f.String()))
		}
	}
	for i := range row.Changes {
		c := &row.Changes[i]
		for _, s := range []*string{&c.Sheet, &c.Cell, &c.Label, &c.Old, &c.New} {
			*s = strings.Clone(*s)
		}
	}
	row.Changes = slices.Clip(row.Changes)
}

// overdue is how many days a signature is late on the day today.
func (row *Row) overdue(today time.Time, term int) int {
	if row.State != workbook.AsExported && row.State != workbook.PartSigned {
		return 0
	}
	d, err := time.Parse(time.DateOnly, row.Visit)
	if err != nil {
		return 0
	}
	return max(0, int(today.Sub(d).Hours()/24)-term)
}
