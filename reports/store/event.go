// Package store keeps jobs as what happened to them. Every committed field, log,
// instrument, decision and signature is an event; events are appended and never
// changed or removed; a job is what its events come to (fold).
//
// Local is the tablet's store: one SQLite file with one writer. Whatever is written
// is read back and folded first, so that nothing goes to disk that cannot come from
// it again.
package store

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"retrostage/reports/record"
)

// Kind says what happened.
type Kind string

const (
	Created    Kind = "job created"
	Entered    Kind = "entry"
	Drafted    Kind = "draft"
	Instrument Kind = "instrument" // the list as it then was
	UnitEdit   Kind = "unit edit"
	Decision   Kind = "decision" // an entry that answers the wiring planner
	Logged     Kind = "log"
	Stepped    Kind = "step" // another step was opened
	Attached   Kind = "attachment"
	Caution    Kind = "caution acknowledged"
	Archived   Kind = "archived"
	Unarchived Kind = "unarchived"
	Signature  Kind = "signature"
	Review     Kind = "review" // a supervisor accepts what was signed, or returns it

	KeyDiscarded Kind = "key discarded" // what was encrypted with it is read no more

	Undo Kind = "undo" // of the event it answers; of an undo: redo
)

// Event is one thing that happened to one job.
type Event struct {
	ID      string          `json:"id"`     // 128 random bits in hex
	Device  string          `json:"device"` // the tablet it was entered on
	Order   int64           `json:"order"`  // Lamport's clock: later than all that the device had seen
	Who     string          `json:"who,omitempty"`
	When    time.Time       `json:"when"` // by the tablet's clock: to be read, not to be sorted by
	Kind    Kind            `json:"kind"`
	Answers string          `json:"answers,omitempty"` // the event that stood before, or is undone
	Job     string          `json:"job"`
	Visit   string          `json:"visit,omitempty"`
	JobKey  string          `json:"job_key,omitempty"` // the key the payload is encrypted with
	Payload json.RawMessage `json:"payload"`

	digest [16]byte // its sum, where it was read with one; else zero
}

// payload is what an event carries; each kind uses its part.
type payload struct {
	Demo        bool                 `json:"demo,omitempty"`
	Entry       *record.Entry        `json:"entry,omitempty"`
	Draft       *record.Draft        `json:"draft,omitempty"`
	Instruments *[]record.Instrument `json:"instruments,omitempty"`
	Unit        json.RawMessage      `json:"unit,omitempty"`
	Log         *record.Series       `json:"log,omitempty"`
	Drop        string               `json:"drop,omitempty"` // name of the log taken out
	Step        record.Step          `json:"step,omitempty"`
	Reason      string               `json:"reason,omitempty"`
	Attachment  *Attachment          `json:"attachment,omitempty"`

	Keys   []string `json:"keys,omitempty"` // that are discarded
	Review *Verdict `json:"review,omitempty"`

	// Settles are the entries of the same field that were made apart from the one that
	// stood, and that whoever made this one had before them.
	Settles []string `json:"settles,omitempty"`
}

// MaxPayload is the size beyond which no event is written or read.
const MaxPayload = record.MaxFile

func (p payload) encode() (json.RawMessage, error) {
	var w bytes.Buffer
	enc := json.NewEncoder(&w)
	enc.SetEscapeHTML(false) // the unit stays as it was signed
	err := enc.Encode(p)
	b := bytes.TrimSuffix(w.Bytes(), []byte("\n"))
	if err == nil && len(b) > MaxPayload {
		err = fmt.Errorf("%d bytes are more than an event can hold (%d)", len(b), MaxPayload)
	}
	return b, err
}

func decode(b []byte) (p payload, err error) {
	if len(b) > MaxPayload {
		return p, errors.New("larger than an event can be")
	}
	if e, ok := plainEntry(b); ok {
		return payload{Entry: &e}, nil
	}
	return strictly(b)
}

func strictly(b []byte) (p payload, err error) {
	d := json.NewDecoder(strings.NewReader(string(b)))
	d.DisallowUnknownFields()
	if err := d.Decode(&p); err != nil {
		return p, fmt.Errorf("what it carries cannot be read: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return p, errors.New("more follows what it carries")
	}
	return p, nil
}

// NewID is 128 random bits.
func NewID() string {
	var b [16]byte
	rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}

func isID(s string) bool {
	if len(s) != 32 {
		return false
	}
	for i := range len(s) {
		if c := s[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// check tells whether e can be an event of a job that can be, whatever it carries.
func (e Event) check() error {
	if err := e.shape(); err != nil {
		return err
	}
	return record.CheckID(e.Job)
}

// shape is check without the name of the job, which many events have in common.
func (e Event) shape() error {
	switch {
	case !isID(e.ID):
		return fmt.Errorf("%q is no event's id", e.ID)
	case !isID(e.Device):
		return fmt.Errorf("%q is no device", e.Device)
	case e.Order < 1 || e.Order > 1<<53:
		return fmt.Errorf("the order number %d cannot be", e.Order)
	case e.Answers != "" && !isID(e.Answers):
		return fmt.Errorf("it answers %q, which is no event's id", e.Answers)
	case len(e.Who) > record.MaxText || len(e.Visit) > 64 || len(e.JobKey) > 64:
		return errors.New("a name in it is too long")
	case e.JobKey != "" && !isID(e.JobKey):
		return fmt.Errorf("it is encrypted with %.40q, which is no key", e.JobKey)
	case e.Visit != "":
		return errors.New("it is of a visit in a way that this program does not know")
	}
	return nil
}

// sum is over all of an event, so that a byte changed on disk is seen. Each part is
// told apart from the next by its length.
func (e Event) sum() [16]byte {
	if e.digest != [16]byte{} {
		return e.digest
	}
	b := make([]byte, 0, 512+len(e.Payload))
	for _, s := range [...]string{e.ID, e.Device, e.Who, string(e.Kind), e.Answers, e.Job, e.Visit, e.JobKey} {
		b = binary.BigEndian.AppendUint64(b, uint64(len(s)))
		b = append(b, s...)
	}
	b = binary.BigEndian.AppendUint64(b, 16)
	b = binary.BigEndian.AppendUint64(b, uint64(e.Order))
	b = binary.BigEndian.AppendUint64(b, uint64(e.When.UnixMicro()))
	b = binary.BigEndian.AppendUint64(b, uint64(len(e.Payload)))
	b = append(b, e.Payload...)
	h := sha256.Sum256(b)
	return [16]byte(h[:16])
}

// Sum is over all of an event.
func (e Event) Sum() []byte {
	e.digest = [16]byte{}
	return e.digested()
}

// before is the order of events: by the clock that time on the wall cannot turn back.
func before(a, b Event) int {
	switch {
	case a.Order != b.Order:
		if a.Order < b.Order {
			return -1
		}
		return 1
	case a.Device != b.Device:
		return strings.Compare(a.Device, b.Device)
	}
	return strings.Compare(a.ID, b.ID)
}
