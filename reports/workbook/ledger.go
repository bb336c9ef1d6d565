package workbook

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"retrostage/reports/archive"
	"retrostage/reports/record"
	"retrostage/reports/version"
)

// Ledger is what a tablet remembers of its exports, beside its key: by job the count
// and the digest of the newest. The key signs both, so that an older export is told
// where a newer one is at hand.
type Ledger struct {
	path string
	jobs map[string]ledgerLine
}

type ledgerLine struct {
	Count    int    `json:"count"`
	Record   string `json:"record"`             // digest of the record exported last
	Export   string `json:"export"`             // its Reading.Export
	Previous string `json:"previous,omitempty"` // the one before
	Software string `json:"software,omitempty"` // the program that wrote it
}

// OpenLedger reads the ledger beside a key; there need not be one yet.
func OpenLedger(keyFile string) (*Ledger, error) {
	l := &Ledger{path: keyFile + ".exports", jobs: map[string]ledgerLine{}}
	b, err := archive.Read(l.path, 8<<20) // some 30,000 jobs
	if errors.Is(err, fs.ErrNotExist) {
		return l, nil
	}
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(b, &l.jobs); err != nil {
		return nil, fmt.Errorf("%s: the list of this tablet's exports cannot be read (%w); put it away and exports are counted from 1 again", l.path, err)
	}
	return l, nil
}

// Next sets count and previous export of a job that is about to be exported. A record
// that was exported already keeps its count: a copy in other units is no correction.
func (l *Ledger) Next(j *record.Job, o *Options) error {
	b, err := j.Encode()
	if err != nil {
		return err
	}
	x := l.jobs[j.ID]
	if x.Count > 0 && x.Record == digest(b) && x.Software == version.String() {
		o.Count, o.Previous = x.Count, x.Previous
		return nil
	}
	o.Count, o.Previous = x.Count+1, x.Export
	return nil
}

// Keep remembers an export that was written.
func (l *Ledger) Keep(r Reading) error {
	x := l.jobs[r.Job.ID]
	if r.Count == x.Count && r.Digest == x.Record {
		return nil // a copy: the chain goes on from the first
	}
	l.jobs[r.Job.ID] = ledgerLine{r.Count, r.Digest, r.Export, r.Previous, version.String()}
	b, err := json.MarshalIndent(l.jobs, "", " ")
	if err != nil {
		return err
	}
	return archive.Replace(l.path, func(w io.Writer) error { _, err := w.Write(b); return err })
}

// crockford has no letter that is taken for a digit.
var crockford = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// DecisionCode goes with a decision on the record of a digest, so that a signature block
// copied from another job's workbook, or from another record of this one, is told. It is
// no secret.
func DecisionCode(recordDigest string) string {
	h := sha256.Sum256([]byte("retrostage decision\n" + recordDigest))
	return crockford.EncodeToString(h[:])[:4]
}
