package store

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"database/sql"
	"database/sql/driver"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"retrostage/reports/archive"
)

// Exchanged counts what an exchange with a shared folder did.
type Exchanged struct {
	Sent         int      `json:"sent"` // events
	Taken        int      `json:"taken"`
	PicturesSent int      `json:"pictures_sent"`
	Pictures     int      `json:"pictures_taken"`
	Had          int      `json:"had"`           // events that came once more
	Late         int      `json:"late"`          // files that are not whole yet, pictures that are not there yet
	Refused      int      `json:"refused"`       // events that are none, or other than one of the same id
	Why          string   `json:"why,omitempty"` // of the last that was refused
	Jobs         []string `json:"jobs"`          // in which something came
}

// The shared folder: a mark that says which it is, a folder of packets for each tablet,
// in which nobody else writes and nothing is ever changed, and the pictures by hash.
const (
	exchangeMark = "retrostage-exchange.json"
	packetKind   = "retrostage events"
	pictureDir   = "pictures"
	// MaxPacket is the size beyond which no packet is read.
	MaxPacket = 4 * MaxPayload
	// perPacket is how many events go into one.
	perPacket = 1000
)

// packet is a file of events, each with its sum.
type packet struct {
	Kind    string   `json:"kind"`
	Version int      `json:"version"`
	Device  string   `json:"device"`
	Events  []packed `json:"events"`
}

// packed is an event whose payload comes byte by byte as it was summed.
type packed struct {
	Event
	Payload []byte `json:"payload"`
	Sum     string `json:"sum"`
}

func pack(e Event) packed {
	return packed{e, e.Payload, hex.EncodeToString(e.digested())}
}

// unpack is the event, unless it is none: an order that far ahead would leave none for
// the events to come.
func (p packed) unpack() (e Event, ok bool) {
	e = p.Event
	e.digest, e.Payload = [16]byte{}, p.Payload
	return e, p.Sum == hex.EncodeToString(e.digested()) && e.check() == nil && e.Order < 1<<40
}

// Exchange brings this store and a shared folder up to date with each other: what is
// not in the folder is written there, what others wrote is taken over. It can be
// repeated, broken off and done in any order; files that are late or half there are
// left for the next time.
func (l *Local) Exchange(dir string) (x Exchanged, err error) {
	l.exchanging.Lock() // one at a time; while the folder is waited for, others write here
	defer l.exchanging.Unlock()
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.takeOver(); err != nil {
		return x, err
	}
	var folder string
	l.outside(func() { folder, err = markOf(dir) })
	if err != nil {
		return x, fmt.Errorf("the shared folder %s: %w", dir, err)
	}
	// First what others did: what is sent then comes after it.
	if err := l.takePackets(dir, folder, &x); err != nil {
		return x, err
	}
	if err := l.settleKeys(); err != nil {
		return x, err
	}
	if err := l.exchangeKeys(dir); err != nil {
		return x, fmt.Errorf("the shared folder %s: %w", dir, err)
	}
	if err := l.takePictures(dir, &x); err != nil {
		return x, err
	}
	if err := l.sendPictures(dir, &x); err != nil {
		return x, fmt.Errorf("the shared folder %s: %w", dir, err)
	}
	if err := l.sendEvents(dir, folder, &x); err != nil {
		return x, fmt.Errorf("the shared folder %s: %w", dir, err)
	}
	return x, nil
}

// outside waits for a disk that may be slow, or far away, without holding up who saves.
func (l *Local) outside(wait func()) {
	l.mu.Unlock()
	defer l.mu.Lock()
	wait()
}

// markOf is which shared folder it is: one that was emptied and begun anew is another.
func markOf(dir string) (id string, err error) {
	path := filepath.Join(dir, exchangeMark)
	var mark struct{ Kind, ID string }
	b, err := archive.Read(path, 4096)
	if errors.Is(err, fs.ErrNotExist) {
		if info, err := os.Stat(dir); err != nil {
			return "", err
		} else if !info.IsDir() {
			return "", errors.New("it is no folder")
		}
		mark.Kind, mark.ID = packetKind, NewID()
		b, _ := json.Marshal(mark)
		// Two that begin it at once are two folders for a while; what both sent is there.
		err := archive.Replace(path, func(w io.Writer) error { _, err := w.Write(b); return err })
		return mark.ID, err
	}
	if err != nil {
		return "", err
	}
	if json.Unmarshal(b, &mark) != nil || mark.Kind != packetKind || !isID(mark.ID) {
		return "", fmt.Errorf("%s cannot be read; it may not be whole yet", exchangeMark)
	}
	return mark.ID, nil
}

// takePackets takes over the events of every packet that was not taken yet.
func (l *Local) takePackets(dir, folder string, x *Exchanged) error {
	var paths []string
	var err error
	l.outside(func() { paths, err = filepath.Glob(filepath.Join(dir, "tablet-*", "*.json")) })
	if err != nil {
		return err
	}
	jobs := map[string]bool{}
	for _, path := range paths {
		var info fs.FileInfo
		l.outside(func() { info, err = os.Stat(path) })
		if err != nil {
			x.Late++
			continue
		}
		rel, _ := filepath.Rel(dir, path)
		name := fmt.Sprintf("%s %d", filepath.ToSlash(rel), info.Size())
		if known, err := l.known(folder, name); err != nil || known {
			if err != nil {
				return err
			}
			continue
		}
		var p packet
		l.outside(func() { p, err = readPacket(path) })
		if err != nil {
			x.Late++
			continue
		}
		if err := l.takePacket(folder, name, p, x, jobs); err != nil {
			return err
		}
		for job := range jobs {
			delete(l.states, job) // folded anew; what a window works on goes on from what it had
		}
	}
	for job := range jobs {
		x.Jobs = append(x.Jobs, job)
	}
	return nil
}

// readPacket reads one event after the other, no more than a packet has: what only looks
// like a packet costs no more than one.
func readPacket(path string) (p packet, err error) {
	b, err := archive.Read(path, MaxPacket)
	if err != nil {
		return p, err
	}
	var head struct {
		Kind    string
		Version int
		Device  string
		Events  json.RawMessage
	}
	if err := json.Unmarshal(b, &head); err != nil {
		return p, err
	}
	if head.Kind != packetKind || head.Version != 1 {
		return p, errors.New("it is no packet of events that this program knows")
	}
	p.Kind, p.Version, p.Device = head.Kind, head.Version, head.Device
	d := json.NewDecoder(bytes.NewReader(head.Events))
	if t, err := d.Token(); err != nil || t != json.Delim('[') {
		return p, errors.New("it has no events")
	}
	for d.More() {
		if len(p.Events) == perPacket {
			return packet{}, fmt.Errorf("it has more than %d events", perPacket)
		}
		var e packed
		if err := d.Decode(&e); err != nil {
			return packet{}, err
		}
		p.Events = append(p.Events, e)
	}
	return p, nil
}

// takePacket takes the events of a packet, all or none; a second time it does nothing.
func (l *Local) takePacket(folder, name string, p packet, x *Exchanged, jobs map[string]bool) error {
	tx, err := l.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	ask, put, mark, err := prepared(tx)
	if err != nil {
		return err
	}
	t := Taken{}
	clock := l.clock
	for _, packed := range p.Events {
		e, ok := packed.unpack()
		if !ok {
			t.Refused++
			continue
		}
		var sum []byte
		err := ask.QueryRow(e.ID).Scan(&sum)
		switch {
		case err != nil:
			return err
		case len(sum) == 0:
			if _, err := put.Exec(row(e)...); err != nil {
				return &writeError{l.path(), err}
			}
			t.Events++
			jobs[e.Job] = true
			clock = max(clock, e.Order)
		case string(sum) != string(e.digested()):
			t.Refused++
			continue
		default:
			t.Had++
		}
		if _, err := mark.Exec(folder, e.ID); err != nil {
			return &writeError{l.path(), err}
		}
	}
	if t.Refused == 0 { // else it is looked at again: the file may be mended
		if _, err := mark.Exec(folder, name); err != nil {
			return &writeError{l.path(), err}
		}
	}
	if err := tx.Commit(); err != nil {
		return &writeError{l.path(), err}
	}
	l.clock = clock
	x.Taken, x.Had, x.Refused = x.Taken+t.Events, x.Had+t.Had, x.Refused+t.Refused
	return nil
}

// prepared are the statements of an exchange: the sum of an event, one put in, what is
// marked as being in the folder.
func prepared(tx *sql.Tx) (ask, put, mark *sql.Stmt, err error) {
	if ask, err = tx.Prepare("SELECT coalesce((SELECT sum FROM events WHERE id = ?), x'')"); err != nil {
		return nil, nil, nil, err
	}
	if put, err = tx.Prepare(insertEvent); err != nil {
		return nil, nil, nil, err
	}
	mark, err = tx.Prepare("INSERT OR IGNORE INTO exchanged VALUES (?, ?)")
	return ask, put, mark, err
}

func (l *Local) known(folder, name string) (is bool, err error) {
	err = l.db.QueryRow("SELECT EXISTS (SELECT 1 FROM exchanged WHERE folder = ? AND name = ?)", folder, name).Scan(&is)
	return is, err
}

// sendEvents writes what the folder does not have, in packets of this tablet's own.
func (l *Local) sendEvents(dir, folder string, x *Exchanged) error {
	own := filepath.Join(dir, "tablet-"+l.device)
	for at := int64(0); ; {
		p := packet{Kind: packetKind, Version: 1, Device: l.device}
		es, err := l.unsent(folder, &at)
		if err != nil || len(es) == 0 {
			return err
		}
		for _, e := range es {
			p.Events = append(p.Events, pack(e))
		}
		if err := l.sendPacket(own, dir, folder, p); err != nil {
			return err
		}
		x.Sent += len(p.Events)
	}
}

// unsent are the next events after a place that are not marked as being there.
func (l *Local) unsent(where string, at *int64) (es []Event, err error) {
	rows, err := l.db.Query("SELECT seq, "+columns+" FROM events WHERE seq > ? AND NOT EXISTS (SELECT 1 FROM exchanged WHERE folder = ? AND name = id) ORDER BY seq LIMIT ?", *at, where, perPacket)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	size := 0
	for size < MaxPayload && rows.Next() {
		e, ok, err := scan(seqRow{rows, at})
		if err != nil {
			return nil, err
		}
		if ok {
			size += len(e.Payload)
			es = append(es, e)
		}
	}
	return es, rows.Err()
}

func (l *Local) sendPacket(own, dir, folder string, p packet) error {
	b, err := json.Marshal(p)
	if err != nil {
		return err
	}
	h := sha256.Sum256(b)
	path := filepath.Join(own, hex.EncodeToString(h[:12])+".json")
	l.outside(func() { err = put(path, b) })
	if err != nil {
		return err
	}
	rel, _ := filepath.Rel(dir, path)
	tx, err := l.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	names := []string{fmt.Sprintf("%s %d", filepath.ToSlash(rel), len(b))}
	for _, e := range p.Events {
		names = append(names, e.ID)
	}
	_, _, mark, err := prepared(tx)
	if err != nil {
		return err
	}
	for _, n := range names {
		if _, err := mark.Exec(folder, n); err != nil {
			return &writeError{l.path(), err}
		}
	}
	return tx.Commit()
}

// put writes a file of the shared folder whole, and its folder where there is none.
func put(path string, b []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o770); err != nil {
		return err
	}
	return archive.Replace(path, func(w io.Writer) error { _, err := w.Write(b); return err })
}

func (l *Local) hashes() ([]string, error) { return l.column("SELECT hash FROM attachments") }

// column is the answer to a query for one column of texts.
func (l *Local) column(query string, args ...any) (out []string, err error) {
	rows, err := l.db.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}

// sendPictures writes the pictures that the folder lacks.
func (l *Local) sendPictures(dir string, x *Exchanged) error {
	hashes, err := l.hashes()
	if err != nil {
		return err
	}
	for _, h := range hashes {
		path := filepath.Join(dir, pictureDir, h)
		there := false
		l.outside(func() {
			info, err := os.Stat(path)
			there = err == nil && info.Size() > 0
		})
		if there {
			continue
		}
		b, _, err := l.picture(h)
		if err != nil {
			continue // damaged here: another may have it
		}
		l.outside(func() { err = put(path, b) })
		if err != nil {
			return err
		}
		x.PicturesSent++
	}
	return nil
}

// takePictures takes what events name and is not here. A picture that is not whole is
// left for the next time.
func (l *Local) takePictures(dir string, x *Exchanged) error {
	wanted, err := l.wanted()
	if err != nil {
		return err
	}
	for _, a := range wanted {
		var b []byte
		l.outside(func() { b, err = archive.Read(filepath.Join(dir, pictureDir, a.Hash), 2*MaxPicture) })
		if h := sha256.Sum256(b); err != nil || hex.EncodeToString(h[:]) != a.Hash {
			x.Late++
			continue
		}
		if _, err := l.db.Exec("INSERT OR IGNORE INTO attachments VALUES (?, ?, ?)", a.Hash, a.Mime, b); err != nil {
			return &writeError{l.path(), err}
		}
		x.Pictures++
	}
	return nil
}

// wanted are the pictures that events name and that are not here.
func (l *Local) wanted() (out []Attachment, err error) {
	var es []Event
	err = scanAll(l.db, "SELECT "+columns+" FROM events WHERE kind = ?", []driver.NamedValue{{Ordinal: 1, Value: string(Attached)}}, func(e Event, ok bool) {
		if ok {
			es = append(es, e)
		}
	})
	if err != nil {
		return nil, err
	}
	var all []Attachment
	for _, e := range es {
		e, err := l.keys.opened(e)
		if err != nil {
			continue // whoever cannot read which picture it is has no use for it
		}
		if p, err := decode(e.Payload); err == nil && p.Attachment != nil && p.Attachment.check() == nil {
			all = append(all, *p.Attachment)
		}
	}
	for _, a := range all {
		var there bool
		if err := l.db.QueryRow("SELECT EXISTS (SELECT 1 FROM attachments WHERE hash = ?)", a.Hash).Scan(&there); err != nil {
			return nil, err
		}
		if !there {
			out = append(out, a)
		}
	}
	return out, nil
}

// String says what was done in a sentence or two.
func (x Exchanged) String() string {
	say := []string{fmt.Sprintf("%d events sent, %d taken", x.Sent, x.Taken)}
	if x.PicturesSent+x.Pictures > 0 {
		say = append(say, fmt.Sprintf("%d pictures sent, %d taken", x.PicturesSent, x.Pictures))
	}
	if x.Late > 0 {
		say = append(say, fmt.Sprintf("%d files are not there or not whole yet", x.Late))
	}
	if x.Refused > 0 {
		say = append(say, fmt.Sprintf("%d events refused: %s", x.Refused, cmp.Or(x.Why, "damaged, or another has their id")))
	}
	return strings.Join(say, "; ") + "."
}
