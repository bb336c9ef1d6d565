package register

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"retrostage/reports/workbook"
)

// Standing is what is to be done about a file. In the order of this list they are
// chased.
type Standing int

// The standings.
const (
	ToReturn Standing = iota
	ToSendBack
	ToAskAgain
	ToAsk
	ToSign
	ToComplete
	ToHold
	ToDrop
	IsSuperseded
	IsComplete
)

var standings = []string{"to return", "altered", "not read", "to ask about", "to sign", "incomplete", "not to be filed", "duplicate", "superseded", "complete"}

func (s Standing) String() string { return standings[s] }

// chase decides what is to be done about every file, folds the files of a job into the
// row of the one that counts, and puts the rows in order: what presses first, then by
// how long it has.
func (reg *Register) chase(p *Policy) {
	technicians := map[string]bool{}
	for i := range reg.Rows {
		technicians[norm(reg.Rows[i].Technician)] = true
	}
	byJob, altered := map[string][]int{}, map[string]string{}
	for i := range reg.Rows {
		row := &reg.Rows[i]
		row.ExportAhead = row.Exported > reg.Today.AddDate(0, 0, 1).Format(time.DateOnly)
		if row.Own = row.own(&Policy{}); p == nil {
			row.Unfiled = unchecked
		} else {
			row.CounterWho = who(p.Countersign, row.CounterKey)
			row.Own = row.own(p)
			row.Unfiled = p.against(row)
			if w := who(p.Keys, row.KeyID); w != "" {
				row.Key = "signed by the key of " + w
				if technicians[norm(w)] && !sameName(w, row.Technician) { // of somebody else here
					row.Unfiled = strings.TrimPrefix(row.Unfiled+"; it was exported with the key of "+w+", and the job is "+row.Technician+"'s", "; ")
				}
			}
		}
		row.stand(p, reg.Today)
		if row.Job != "" && row.State != workbook.Altered && row.State != workbook.Damaged {
			byJob[row.Job] = append(byJob[row.Job], i)
		}
		if row.State == workbook.Altered && row.Decision != "" {
			altered[row.Job] = row.File
		}
	}
	for _, at := range byJob {
		if len(at) > 1 {
			reg.fold(at, p)
		}
	}
	for i := range reg.Rows { // what was decided on the altered one is not known
		if row := &reg.Rows[i]; row.Standing == IsComplete && altered[row.Job] != "" {
			row.Standing, row.Act, row.Whom = ToAsk, "ask: somebody decided on this job in "+altered[row.Job]+" too, which was altered", row.supervisor(p)
		}
	}
	reg.copied()
	slices.SortStableFunc(reg.Rows, func(a, b Row) int {
		return cmp.Or(cmp.Compare(a.Standing, b.Standing), cmp.Compare(b.Overdue, a.Overdue), cmp.Compare(a.Visit, b.Visit), strings.Compare(a.File, b.File))
	})
}

// stand is what the file by itself calls for.
func (row *Row) stand(p *Policy, today time.Time) {
	tech := "the technician"
	if row.Technician != "" {
		tech = "technician " + row.Technician
	}
	set := func(s Standing, act, whom string) { row.Standing, row.Act, row.Whom = s, act, whom }
	switch {
	case row.State == workbook.Damaged:
		set(ToAskAgain, "ask for it again", "whoever sent it")
	case row.State == workbook.Altered:
		set(ToSendBack, "send back: altered after the export", tech)
	case row.Copied != "":
		set(ToAsk, "send back: its signature was copied from another job", row.supervisor(p))
	case row.Decision == workbook.Return:
		set(ToReturn, "send back to the technician: returned by the supervisor", since(tech, "returned", row.SignedOn))
	case row.Duplicate != "":
		set(ToAsk, "ask: a serial number stands in another job", tech)
	case row.State == workbook.PartSigned:
		set(ToSign, "ask the supervisor to complete the signature", since(row.supervisor(p), "visit", row.Visit))
	case row.State == workbook.AsExported && row.Overdue > 0:
		set(ToSign, "remind the supervisor", since(row.supervisor(p), fmt.Sprintf("%d days late, visit", row.Overdue), row.Visit))
	case row.State == workbook.AsExported:
		set(ToSign, "wait for the signature", since(row.supervisor(p), "visit", row.Visit))
	case row.lacks() != "":
		set(ToComplete, "ask for what is missing", tech)
	case row.Unfiled == unchecked:
		set(IsComplete, unchecked, "")
	case row.Unfiled != "":
		set(ToHold, "do not file: "+row.Unfiled, row.supervisor(p))
	case row.Undone != "":
		set(IsComplete, "file it; it was accepted with steps that are not done: "+row.Undone, "")
	case row.FollowDue != "" && row.FollowDue < today.Format(time.DateOnly):
		set(IsComplete, "file it; its follow-up is overdue", since(tech, "follow-up due", row.FollowDue))
	default:
		set(IsComplete, "file it", "")
	}
}

func since(whom, what, day string) string {
	if day == "" {
		return whom
	}
	return whom + ", " + what + " " + day
}

// supervisor is who is asked for a signature: the name that was begun, else those of
// the office's list.
func (row *Row) supervisor(p *Policy) string {
	switch {
	case row.SignedBy != "":
		return row.SignedBy
	case p != nil && len(p.Supervisors) > 0 && len(p.Supervisors) < 4:
		return strings.Join(p.Supervisors, " or ")
	}
	if row.Technician != "" {
		return "the supervisor of " + row.Technician
	}
	return "the supervisor"
}

// fold finds among the files of one job the one that counts. The others go into its
// history: copies of the same record, and exports that it corrects. What contradicts it
// stays a row of its own, and both say so.
func (reg *Register) fold(at []int, p *Policy) {
	rows := func(i int) *Row { return &reg.Rows[i] }
	slices.SortStableFunc(at, func(a, b int) int { return newer(rows(a), rows(b)) })
	head := rows(at[0])
	var history []string
	for _, i := range at[1:] {
		row := rows(i)
		switch why := head.contradicts(row, p); {
		case why != "":
			for _, pair := range [][2]*Row{{head, row}, {row, head}} {
				pair[0].Standing, pair[0].Act = ToAsk, "ask: "+why+" in "+pair[1].File
			}
		case row.Digest == head.Digest:
			row.Standing, row.Folded = ToDrop, true
			row.Act, row.Whom = "keep "+head.File+", "+head.because(row), ""
			history = append(history, "copy "+row.File+" ("+string(row.State)+")")
		default:
			row.Standing, row.Folded = IsSuperseded, true
			row.Act, row.Whom = "superseded by "+head.File+", "+head.later(row), ""
			said := string(row.State)
			if row.State == workbook.Signed {
				said = fmt.Sprintf("%s on %s by %s", map[string]string{workbook.Accept: "accepted", workbook.Return: "returned"}[row.Decision], row.SignedOn, row.SignedBy)
			}
			history = append(history, "corrects "+row.File+" ("+said+")")
		}
	}
	head.History = strings.Join(history, "; ")
}

// copied names the file that a signature block was copied from, where it lies in the
// folder.
func (reg *Register) copied() {
	var from map[string]string
	for i := range reg.Rows {
		row := &reg.Rows[i]
		if row.Copied == "" {
			continue
		}
		if from == nil {
			from = map[string]string{}
			for k := range reg.Rows {
				if d := reg.Rows[k].Digest; d != "" {
					from[workbook.DecisionCode(d)] = reg.Rows[k].File
				}
			}
		}
		if f := from[row.Copied]; f != "" {
			row.Act += ", it seems that of " + f
		}
	}
}

// newer orders the files of a job: by the tablet's count, else by the time of the
// export; of one record the one that somebody decided on comes first.
func newer(a, b *Row) int {
	if a.Digest == b.Digest {
		return cmp.Or(cmp.Compare(b.weight(), a.weight()), strings.Compare(a.File, b.File))
	}
	if a.KeyID == b.KeyID && a.KeyID != "" && a.Count != b.Count {
		return cmp.Compare(b.Count, a.Count)
	}
	return cmp.Or(strings.Compare(b.ExportedAt, a.ExportedAt), cmp.Compare(b.weight(), a.weight()), strings.Compare(a.File, b.File))
}

// weight is how much was decided on a file.
func (row *Row) weight() int {
	switch {
	case row.CounterKey != "":
		return 3
	case row.State == workbook.Signed:
		return 2
	case row.State == workbook.PartSigned:
		return 1
	}
	return 0
}

// contradicts says why a file is no copy and no earlier export of the row, "" if it is
// one.
func (row *Row) contradicts(o *Row, p *Policy) string {
	same := row.Digest == o.Digest
	switch {
	case same && row.weight() > 1 && o.weight() > 1 && row.Decision != o.Decision:
		return row.Decision + " and " + o.Decision + " of the same record, the other"
	case same:
		return ""
	case p != nil && listed(p.Keys, row.KeyID, row.Exported) != "" && listed(p.Keys, o.KeyID, o.Exported) == "":
		return "another record of the same job, not by a key of the office's,"
	case o.KeyID != "" && row.KeyID != o.KeyID: // nothing that a tablet signed is superseded by what it did not
		return "another record of the same job by another key, or by none,"
	case row.KeyID != "" && row.KeyID == o.KeyID && row.Count == o.Count && row.Count > 0:
		return "another record of the same job with the same count"
	case row.KeyID != "" && row.KeyID == o.KeyID && row.Count > o.Count && row.ExportedAt < o.ExportedAt:
		return "another record of the same job, by its count the older and by its time the newer,"
	}
	return ""
}

// because says why of two copies of one record the row is kept.
func (row *Row) because(o *Row) string {
	if row.weight() > o.weight() {
		return "which is " + map[int]string{3: "countersigned", 2: "signed", 1: "begun to be signed"}[row.weight()]
	}
	return "the same in all"
}

// later says how it is known that the row is the later export.
func (row *Row) later(o *Row) string {
	switch {
	case row.Previous != "" && row.Previous == o.Export:
		return "which names it as the one before"
	case row.KeyID != "" && row.KeyID == o.KeyID && row.Count > 0:
		return fmt.Sprintf("export %d of the job and this is %d, by the same tablet's key", row.Count, o.Count)
	}
	return "the later by the files' own times; no key vouches for them"
}
