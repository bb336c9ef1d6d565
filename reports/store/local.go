package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	_ "modernc.org/sqlite" // the driver

	"retrostage/reports/record"
)

// Store is what keeps jobs: a tablet's file, or an office's server. All of it may be
// called from any goroutine.
type Store interface {
	// Append writes events of one job durably, all or none.
	Append(events ...Event) error
	// Events are those of a job in their order, "" of all; the damaged are apart.
	Events(job string) (whole []Event, damaged []Aside, err error)
	// Jobs are the names of all jobs, the one that an event came to last first.
	Jobs() ([]string, error)
	Close() error
}

// File is the name of the database in its folder.
const File = "jobs.db"

// Local is the tablet's store.
type Local struct {
	Note string // what has to be said of the opening; "" for nothing

	dir    string
	db     *sql.DB
	put    *sql.Stmt // insertEvent, of the writer
	lock   *os.File  // nil: another process writes
	writer Writer
	device string
	now    func() time.Time

	exchanging sync.Mutex

	mu     sync.Mutex
	clock  int64
	keys   *ring
	file   os.FileInfo // the database and its log, as they were opened
	wal    os.FileInfo
	states map[string]*State    // folded, as they stand on disk
	bases  map[string]*base     // as this process last loaded or saved them
	named  map[string]bool      // names given to new jobs in this process
	heads  map[string]listedJob // jobs as last listed
}

// ReadOnlyError says that another process is the writer.
type ReadOnlyError struct{ Writer Writer }

func (e *ReadOnlyError) Error() string {
	return "the jobs are open for writing elsewhere (" + e.Writer.String() + "); here they can only be read"
}

// Open opens the store in dir, which is made if need be. Where another process is the
// writer it can only be read: see Writable. A database that is damaged is set aside
// as it is, and what can be read of it is taken over; Note says so.
func Open(dir string) (*Local, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("jobs cannot be kept in %s: %w", dir, err)
	}
	l := &Local{dir: dir, now: time.Now, states: map[string]*State{}, bases: map[string]*base{}, named: map[string]bool{}, heads: map[string]listedJob{}}
	var err error
	if l.lock, l.writer, err = lockFolder(dir); err != nil {
		return nil, fmt.Errorf("jobs cannot be kept in %s: %w", dir, err)
	}
	if l.lock == nil {
		err = l.waitToRead()
	} else {
		err = l.openToWrite()
	}
	if err != nil {
		l.Close()
		return nil, fmt.Errorf("the jobs in %s: %w", dir, err)
	}
	return l, nil
}

func (l *Local) path() string { return filepath.Join(l.dir, File) }

// Dir is the folder.
func (l *Local) Dir() string { return l.dir }

// Writable is nil, or says who writes instead.
func (l *Local) Writable() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.writable()
}

func (l *Local) writable() error {
	if l.lock == nil {
		return &ReadOnlyError{l.writer}
	}
	return nil
}

// connect opens a database file; more are settings of SQLite's.
func connect(path, mode string, more ...string) (*sql.DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	q := url.Values{"mode": {mode}, "_txlock": {"immediate"}, "_pragma": append([]string{"busy_timeout(5000)", "trusted_schema(0)"}, more...)}
	db, err := sql.Open("sqlite", address(filepath.ToSlash(abs), q))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, db.Ping()
}

// address is the URI of a database file, its path with slashes. A drive's letter follows a
// slash: without one it would be read as the name of a machine.
func address(path string, q url.Values) string {
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	u := url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}
	return u.String()
}

// waitToRead opens a database that another process writes, which may be making it.
func (l *Local) waitToRead() (err error) {
	for range 30 {
		if err = l.openToRead(); err == nil {
			return nil
		}
		if newer := (*NewerError)(nil); errors.As(err, &newer) {
			return err
		}
		if l.db != nil {
			l.db.Close()
		}
		time.Sleep(100 * time.Millisecond)
	}
	return err
}

func (l *Local) openToRead() (err error) {
	if l.db, err = connect(l.path(), "ro", "query_only(1)"); err != nil {
		return err
	}
	l.keys = newRing(l.db)
	var at int
	if err := l.db.QueryRow("PRAGMA user_version").Scan(&at); err != nil {
		return err
	}
	switch {
	case at > len(schema):
		return &NewerError{at, len(schema)}
	case at < len(schema):
		return fmt.Errorf("the jobs are kept in form %d and the window that writes has not brought them to form %d", at, len(schema))
	}
	return nil
}

func (l *Local) openToWrite() error {
	if err := own(l.path()); err != nil {
		return err
	}
	l.sweep()
	err := l.begin()
	if newer := (*NewerError)(nil); err == nil || errors.As(err, &newer) {
		return err
	}
	if !damaged(err) {
		return err
	}
	if l.db != nil {
		l.db.Close()
	}
	return l.salvage(err)
}

// sweep takes away what a copy left behind that was being made when the power went;
// nobody else makes any while this process is the writer. What earlier versions left
// of a save goes once it is a day old: an older program may still be at it.
func (l *Local) sweep() {
	for _, pattern := range []string{".salvage-*", filepath.Join(copies, ".backup-*")} {
		left, _ := filepath.Glob(filepath.Join(l.dir, pattern)) // the pattern is sound
		for _, p := range left {
			os.RemoveAll(p)
		}
	}
	left, _ := filepath.Glob(filepath.Join(l.dir, ".writing-*"))
	for _, p := range left {
		if i, err := os.Lstat(p); err == nil && i.Mode().IsRegular() && l.now().Sub(i.ModTime()) > 24*time.Hour {
			os.Remove(p)
		}
	}
}

// own makes the file where there is none, for its owner and no wider than umask lets.
func own(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o640)
	if err != nil {
		return err
	}
	return f.Close()
}

// begin opens the database, sees that it is whole, and brings it up to date.
func (l *Local) begin() (err error) {
	if l.db, err = connect(l.path(), "rw", "journal_mode(WAL)", "synchronous(FULL)", "cache_size(-32000)"); err != nil {
		return err
	}
	var said string
	if err := l.db.QueryRow("PRAGMA integrity_check(1)").Scan(&said); err != nil {
		return err
	}
	if said != "ok" {
		return &damage{said}
	}
	if err := migrate(l.db, schema); err != nil {
		return err
	}
	if l.file, err = os.Stat(l.path()); err != nil {
		return err
	}
	if l.put, err = l.db.Prepare(insertEvent); err != nil { // goes with the database
		return err
	}
	l.wal = nil
	l.keys = newRing(l.db)
	if err := l.settleKeys(); err != nil {
		return err
	}
	if _, err := l.db.Exec("INSERT OR IGNORE INTO meta (name, value) VALUES ('device', ?)", NewID()); err != nil {
		return err
	}
	if err := l.db.QueryRow("SELECT value FROM meta WHERE name = 'device'").Scan(&l.device); err != nil {
		return err
	}
	return l.db.QueryRow("SELECT coalesce(max(ord), 0) FROM events").Scan(&l.clock)
}

// Close gives the store up. A copy of the day is kept first, where something changed.
func (l *Local) Close() error {
	var err error
	if l.db != nil {
		if l.lock != nil && l.device != "" {
			err = l.DailyCopy()
		}
		err = errors.Join(err, l.db.Close())
	}
	if l.lock != nil {
		l.lock.Close()
	}
	return err
}

// Append implements Store. What is written is read again and folded first: an event
// that would be set aside is refused. Events that are there already are passed over.
func (l *Local) Append(events ...Event) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.append(events)
}

func (l *Local) append(events []Event) error {
	if err := l.writable(); err != nil {
		return err
	}
	if len(events) == 0 {
		return nil
	}
	s, err := l.state(events[0].Job)
	if err != nil {
		return err
	}
	refold := false
	var fresh []Event
	for _, e := range events {
		e.digest = [16]byte{}
		if e.Job != events[0].Job {
			return errors.New("events of two jobs in one go")
		}
		if n, ok := s.known[e.ID]; ok {
			if e.sum() != s.marks[n].sum {
				return fmt.Errorf("another event has the id %s", e.ID)
			}
			continue
		}
		fresh = append(fresh, e)
		refold = refold || e.Kind == Undo || s.Events > 0 && before(e, s.Last) < 0
		if !refold {
			key, err := s.apply(e)
			if err != nil {
				delete(l.states, e.Job) // half changed
				return fmt.Errorf("refused: %w", err)
			}
			s.note(e, key)
		}
	}
	if refold {
		if s, err = l.refold(events[0].Job, fresh, len(s.Aside)); err != nil {
			delete(l.states, events[0].Job)
			return err
		}
	}
	if err := l.grounded(); err != nil {
		delete(l.states, events[0].Job)
		return &writeError{l.path(), err}
	}
	if err := l.insert(fresh); err != nil {
		delete(l.states, events[0].Job)
		return &writeError{l.path(), err}
	}
	l.states[events[0].Job] = s
	for _, e := range fresh {
		l.clock = max(l.clock, e.Order)
	}
	return nil
}

// refold is the state with events that do not simply follow: an undo, or what comes
// from elsewhere.
func (l *Local) refold(job string, fresh []Event, aside int) (*State, error) {
	old, _, err := l.events(job)
	if err != nil {
		return nil, err
	}
	s := fold(job, append(old, fresh...), l.keys)
	if len(s.Aside) > aside {
		return nil, fmt.Errorf("refused: %s", s.Aside[len(s.Aside)-1].Reason)
	}
	return s, nil
}

const insertEvent = `INSERT INTO events (id, device, ord, who, at, kind, answers, job, visit, jobkey, payload, sum) VALUES (?,?,?,?,?,?,?,?,?,?,?,?)`

// grounded tells whether what is written goes where the next start will look for it. A
// file that was removed or moved while it is open takes every write, and keeps none.
func (l *Local) grounded() error {
	if err := stillThere(l.path(), l.file); err != nil {
		return fmt.Errorf("the file was removed or put elsewhere while it was open (%w): bring it back, or restore a copy, and open the jobs again", err)
	}
	wal := l.path() + "-wal"
	if l.wal == nil { // made by the first write of this opening
		l.wal, _ = os.Stat(wal)
		return nil
	}
	if stillThere(wal, l.wal) == nil {
		return nil
	}
	// Its log is gone: what stands in it goes into the file before anything else does, and
	// a new one is begun.
	var busy, logged, moved int
	if err := l.db.QueryRow("PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &logged, &moved); err != nil || busy != 0 {
		return fmt.Errorf("the log of the file was removed while it was open, and what stood in it could not be kept: %w", err)
	}
	if err := l.db.Close(); err != nil {
		return err
	}
	return l.begin()
}

// stillThere tells whether a path still leads to a file.
func stillThere(path string, was os.FileInfo) error {
	is, err := os.Stat(path)
	if err == nil && !os.SameFile(is, was) {
		err = errors.New("another file is in its place")
	}
	return err
}

func (l *Local) insert(events []Event) error {
	if len(events) == 1 { // a statement is a transaction of its own
		return putIn(l.put.Exec(row(events[0])...))
	}
	tx, err := l.db.BeginTx(context.Background(), nil)
	if err != nil {
		return err
	}
	put := tx.Stmt(l.put)
	for _, e := range events {
		if err := putIn(put.Exec(row(e)...)); err != nil {
			tx.Rollback()
			return err
		}
	}
	return tx.Commit()
}

// putIn is nil where a row was put in: a database that someone meddled with can take a
// statement without a word and keep nothing.
func putIn(r sql.Result, err error) error {
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n != 1 {
		return errors.New("the database took it and kept nothing")
	}
	return nil
}

func (e Event) digested() []byte {
	s := e.sum()
	return s[:]
}

func row(e Event) []any {
	return []any{e.ID, e.Device, e.Order, e.Who, e.When.UnixMicro(), string(e.Kind), e.Answers, e.Job, e.Visit, e.JobKey, []byte(e.Payload), e.digested()}
}

// columns are those of an event, its short texts as one: each column that is read
// has its cost.
const columns = "id||char(31)||device||char(31)||kind||char(31)||answers||char(31)||job||char(31)||visit||char(31)||jobkey||char(31)||who, ord, at, payload, sum"

// scan reads a row of columns; ok is false where its bytes are not those written.
func scan(r interface{ Scan(...any) error }) (e Event, ok bool, err error) {
	var at int64
	var texts string
	var load, sum []byte
	if err = r.Scan(&texts, &e.Order, &at, &load, &sum); err == nil {
		ok = e.fill(texts, at, load, sum)
	}
	return e, ok, err
}

// fill is what a row says, but for the order number, which is there.
func (e *Event) fill(texts string, at int64, load, sum []byte) (ok bool) {
	var kind string
	for _, to := range []*string{&e.ID, &e.Device, &kind, &e.Answers, &e.Job, &e.Visit, &e.JobKey} {
		*to, texts, _ = strings.Cut(texts, "\x1f")
	}
	e.Kind, e.Who, e.When, e.Payload = Kind(kind), texts, time.UnixMicro(at), load
	e.digest = e.sum()
	return string(sum) == string(e.digest[:])
}

// scanAll reads all rows of a query of columns, without what database/sql does for
// every row and every column.
func scanAll(db *sql.DB, query string, args []driver.NamedValue, take func(e Event, ok bool)) error {
	ctx := context.Background()
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(c any) error {
		rows, err := c.(driver.QueryerContext).QueryContext(ctx, query, args)
		if err != nil {
			return err
		}
		defer rows.Close()
		v := make([]driver.Value, 5)
		for {
			switch err := rows.Next(v); {
			case err == io.EOF:
				return nil
			case err != nil:
				return err
			}
			var e Event
			texts, a := v[0].(string)
			order, b := v[1].(int64)
			at, c := v[2].(int64)
			load, d := v[3].([]byte)
			sum, f := v[4].([]byte)
			e.Order = order
			ok := e.fill(texts, at, load, sum)
			take(e, ok && a && b && c && d && f)
		}
	})
}

// Events implements Store.
func (l *Local) Events(job string) (whole []Event, damaged []Aside, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	whole, damaged, err = l.events(job)
	for i := range whole {
		whole[i].digest = [16]byte{} // who has it may change the rest
	}
	return whole, damaged, err
}

func (l *Local) events(job string) (whole []Event, damaged []Aside, err error) {
	where, args := "WHERE job = ? ", []driver.NamedValue{{Ordinal: 1, Value: job}}
	if job == "" {
		where, args = "", nil
	}
	var n int
	if job != "" && l.db.QueryRow("SELECT count(*) FROM events WHERE job = ?", job).Scan(&n) == nil {
		whole = make([]Event, 0, n) // the room for it, once
	}
	err = scanAll(l.db, "SELECT "+columns+" FROM events "+where+"ORDER BY ord", args, func(e Event, ok bool) {
		if ok {
			whole = append(whole, e)
		} else {
			damaged = append(damaged, Aside{e, "its bytes are not those that were written"})
		}
	})
	if !slices.IsSortedFunc(whole, before) { // what was done apart can have one number
		slices.SortFunc(whole, before)
	}
	return whole, damaged, err
}

// state is the job as it stands on disk.
func (l *Local) state(job string) (*State, error) {
	if s := l.states[job]; s != nil && l.lock != nil {
		return s, nil
	}
	es, damaged, err := l.events(job)
	if err != nil {
		return nil, err
	}
	s := fold(job, es, l.keys)
	s.Aside = append(s.Aside, damaged...)
	for _, d := range damaged { // its id is taken
		s.known[d.Event.ID] = len(s.marks)
		s.marks = append(s.marks, mark{id: d.Event.ID})
	}
	l.states[job] = s
	return s, nil
}

// ErrNone is that there is no such job, ErrThere that there is one already.
var (
	ErrNone  = errors.New("there is no such job")
	ErrThere = errors.New("there is a job of that name already; it was left as it is")
)

// State is what the events of a job come to. It is the caller's own.
func (l *Local) State(job string) (State, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	s, err := l.state(job)
	if err != nil {
		return State{}, err
	}
	if s.Events == 0 && len(s.Aside) == 0 {
		return State{}, fmt.Errorf("%s: %w", job, ErrNone)
	}
	c := *s
	c.Job, c.Aside, c.Attachments = s.Job.Clone(), slices.Clone(s.Aside), slices.Clone(s.Attachments)
	return c, nil
}

// Load is the job to go on with: Save writes what is done to it from here.
func (l *Local) Load(job string) (*record.Job, error) {
	s, err := l.State(job)
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.bases[job] = s.base(s.Job)
	return s.Job, nil
}

// Save writes what was done to j since it was loaded or saved; of a job that is new,
// all of it. Nothing done writes nothing. On error nothing was written, and the next
// Save has it all.
func (l *Local) Save(j *record.Job, who string) error {
	if err := record.CheckID(j.ID); err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.takeOver(); err != nil {
		return err
	}
	b := l.bases[j.ID]
	if b == nil {
		s, err := l.state(j.ID)
		if err != nil {
			return err
		}
		if s.Events > 0 {
			return fmt.Errorf("there is a job %s already; this one was not loaded from here", j.ID)
		}
		b = newState(j.ID, nil).base(nil)
	}
	cs, err := changes(b.job, j)
	if err != nil {
		return err
	}
	if err := l.appendChanges(j.ID, who, cs, b); err != nil {
		return err
	}
	b.job = jobBase(j)
	l.bases[j.ID] = b
	return nil
}

// base is a job as whoever works on it has it, and what stood there then: what came
// from elsewhere since is not answered by what he does.
type base struct {
	job    *record.Job // nil: new
	stands map[record.Key]string
	heads  map[record.Key][]head
	kinds  map[Kind]string
}

func (s *State) base(j *record.Job) *base {
	return &base{jobBase(j), maps.Clone(s.stands), maps.Clone(s.heads), maps.Clone(s.kinds)}
}

// jobBase is what changes needs of j later. The entries are shared, for they only grow;
// so are the readings of logs, which nobody changes: a save costs no more where a job
// is large.
func jobBase(j *record.Job) *record.Job {
	if j == nil {
		return nil
	}
	return &record.Job{ID: j.ID, Demo: j.Demo, Step: j.Step, Unit: slices.Clone(j.Unit), Entries: slices.Clip(j.Entries),
		Instruments: slices.Clone(j.Instruments), Drafts: slices.Clone(j.Drafts), Series: slices.Clone(j.Series)}
}

// answer makes e answer what stood, and settle what else was typed there apart.
func (b *base) answer(e *Event, p *payload) {
	if p.Entry == nil {
		if e.Answers == "" {
			e.Answers = b.kinds[e.Kind]
		}
		return
	}
	key := p.Entry.Key
	e.Answers = b.stands[key]
	for _, h := range b.heads[key] {
		if h.id != e.Answers {
			p.Settles = append(p.Settles, h.id)
		}
	}
}

// add is e done: what follows answers it.
func (b *base) add(e Event, p payload) {
	if p.Entry == nil {
		b.kinds[e.Kind] = e.ID
		return
	}
	b.stands[p.Entry.Key] = e.ID
	b.heads[p.Entry.Key] = []head{{e.ID, amount(p.Entry.Value, p.Entry.Unit)}}
}

// Import takes over a job from a file; one that is here already is left alone.
func (l *Local) Import(j *record.Job, who string) error {
	if _, err := l.State(j.ID); err == nil {
		return fmt.Errorf("%s: %w", j.ID, ErrThere)
	} else if !errors.Is(err, ErrNone) {
		return err
	}
	return l.Save(j, who)
}

// TakeOver makes this process the writer where none is; it is nil where it is the
// writer already. What was loaded is to be loaded anew: the other may have added to it.
func (l *Local) TakeOver() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.takeOver()
}

// takeOver makes this process the writer if the one that was has ended.
func (l *Local) takeOver() error {
	if l.lock != nil {
		return nil
	}
	f, who, err := lockFolder(l.dir)
	if err != nil || f == nil {
		l.writer = who
		return errors.Join(err, l.writable())
	}
	l.db.Close()
	l.lock, l.states = f, map[string]*State{}
	return l.begin()
}

// appendChanges gives the changes their ids and places and writes them; b is what they
// were made on.
func (l *Local) appendChanges(job, who string, cs []change, b *base) error {
	var es []Event
	now := &base{nil, maps.Clone(b.stands), maps.Clone(b.heads), maps.Clone(b.kinds)}
	for i, c := range cs {
		e := Event{ID: NewID(), Device: l.device, Order: l.clock + 1 + int64(i), Who: c.who, When: c.when, Kind: c.kind, Answers: c.answers,
			Job: job, Visit: c.visit}
		if e.Who == "" {
			e.Who = who
		}
		if e.When.IsZero() {
			e.When = l.now()
		}
		now.answer(&e, &c.p)
		var err error
		if e.Payload, err = c.p.encode(); err != nil {
			return err
		}
		if c.personal() {
			if c.key == "" {
				if c.key, err = l.keyFor(job); err != nil {
					return &writeError{l.path(), err}
				}
			}
			e.JobKey = c.key
			if e.Payload, err = l.keys.seal(e.JobKey, e.of(), e.Payload); err != nil {
				return err
			}
		}
		now.add(e, c.p)
		es = append(es, e)
	}
	if err := l.append(es); err != nil {
		return err
	}
	b.stands, b.heads, b.kinds = now.stands, now.heads, now.kinds
	return nil
}

// Jobs implements Store.
func (l *Local) Jobs() ([]string, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	heads, err := l.jobHeads()
	var ids []string
	for _, h := range heads {
		ids = append(ids, h.job)
	}
	return ids, err
}

// NewJob is an empty job with a name that no other has: the day, a number, and part
// of the tablet's own, so that two tablets name no two customers alike.
func (l *Local) NewJob() (*record.Job, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	tablet := l.device
	if tablet == "" { // read only: another window is named in the file
		tablet = NewID()
	}
	for n := 1; ; n++ {
		id := fmt.Sprintf("job-%s-%d-%s", l.now().Format(time.DateOnly), n, tablet[:8])
		s, err := l.state(id)
		if err != nil {
			return nil, err
		}
		if s.Events == 0 && len(s.Aside) == 0 && l.bases[id] == nil && !l.named[id] {
			l.named[id] = true // it may not be saved yet when the next is begun
			return record.New(id), nil
		}
	}
}
