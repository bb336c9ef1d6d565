// Package office is the store of a company's office on PostgreSQL: the events and
// pictures of all tablets, appended only. Who may write what is the server's to refuse
// (schema.sql), not this package's.
package office

import (
	"bytes"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"retrostage/reports/store"
)

//go:embed schema.sql
var first string

//go:embed schema2.sql
var second string

// forms are the steps from an empty database to the newest form, forwards only. A step
// that was released is never changed.
var forms = []string{first, second}

// Office is a connection to one.
type Office struct {
	conn *pgx.Conn
	id   string
}

// Is tells whether s is a connection string and not a folder.
func Is(s string) bool {
	return strings.HasPrefix(s, "postgres://") || strings.HasPrefix(s, "postgresql://")
}

// config reads a connection string. It refuses a password in it, and a server elsewhere
// without TLS.
func config(dsn string) (*pgx.ConnConfig, error) {
	user, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(dsn, "postgresql://"), "postgres://"), "@")
	if strings.Contains(user, ":") && strings.Contains(dsn, "@") || strings.Contains(dsn, "password=") {
		return nil, store.ErrPassword
	}
	c, err := pgx.ParseConfig(dsn)
	if err != nil {
		return nil, errors.New("the connection string cannot be read") // the error could hold what it should not
	}
	plain := c.TLSConfig == nil
	for _, f := range c.Fallbacks {
		plain = plain || f.TLSConfig == nil && !local(f.Host)
	}
	if plain && !local(c.Host) {
		return nil, fmt.Errorf("%s is another machine: say sslmode=verify-full (or require) so that nobody listens", c.Host)
	}
	c.ConnectTimeout = 10 * time.Second
	return c, nil
}

func local(host string) bool {
	if strings.HasPrefix(host, "/") || host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// Open connects to an office that was set up.
func Open(ctx context.Context, dsn string) (*Office, error) {
	c, err := config(dsn)
	if err != nil {
		return nil, err
	}
	conn, err := pgx.ConnectConfig(ctx, c)
	if err != nil {
		return nil, fmt.Errorf("the office cannot be reached: %w", err)
	}
	o := &Office{conn: conn}
	form, err := formOf(ctx, conn)
	if err == nil {
		err = conn.QueryRow(ctx, "SELECT id FROM retrostage.office").Scan(&o.id)
	}
	switch {
	case err != nil:
		err = fmt.Errorf("it is no office, or this login may not read it: %w", err)
	case form > len(forms):
		err = fmt.Errorf("the office is in form %d; this program knows up to %d. Use the newer program", form, len(forms))
	case form < len(forms):
		err = fmt.Errorf("the office is in form %d and this program needs %d: its owner runs jobs office once more", form, len(forms))
	}
	if err != nil {
		conn.Close(ctx)
		return nil, err
	}
	return o, nil
}

// formOf is the form that an office is in, 0 where there is none.
func formOf(ctx context.Context, conn *pgx.Conn) (form int, err error) {
	var there, told bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('retrostage.office') IS NOT NULL,
		EXISTS (SELECT FROM pg_attribute WHERE attrelid = to_regclass('retrostage.office') AND attname = 'form')`).Scan(&there, &told); err != nil || !there {
		return 0, err
	}
	if !told {
		return 1, nil
	}
	return form, conn.QueryRow(ctx, "SELECT form FROM retrostage.office").Scan(&form)
}

// Close ends the connection.
func (o *Office) Close(ctx context.Context) error { return o.conn.Close(ctx) }

// ID implements store.Peer.
func (o *Office) ID() string { return o.id }

// Install makes the tables, roles and rules of an office, by the login that is to own
// them. Where they are it changes nothing.
func Install(ctx context.Context, dsn string) error {
	c, err := config(dsn)
	if err != nil {
		return err
	}
	conn, err := pgx.ConnectConfig(ctx, c)
	if err != nil {
		return fmt.Errorf("the office cannot be reached: %w", err)
	}
	defer conn.Close(ctx)
	form, err := formOf(ctx, conn)
	if err != nil {
		return err
	}
	if form > len(forms) {
		return fmt.Errorf("the office is in form %d; this program knows up to %d. Nothing was changed", form, len(forms))
	}
	for ; form < len(forms); form++ {
		if err := step(ctx, conn, form); err != nil {
			return fmt.Errorf("setting up the office, form %d: %w", form+1, err)
		}
	}
	return nil
}

// step brings an office from a form to the next, whole or not at all.
func step(ctx context.Context, conn *pgx.Conn, form int) error {
	tx, err := conn.Begin(ctx)
	if err != nil {
		return err
	}
	defer tx.Rollback(ctx)
	if _, err := tx.Exec(ctx, forms[form]); err != nil {
		return err
	}
	if form == 0 {
		if _, err := tx.Exec(ctx, "INSERT INTO retrostage.office (id) VALUES ($1)", store.NewID()); err != nil {
			return err
		}
	} else if _, err := tx.Exec(ctx, "UPDATE retrostage.office SET form = $1", form+1); err != nil {
		return err
	}
	return tx.Commit(ctx)
}

const insert = `INSERT INTO retrostage.events (id, device, ord, who, at, kind, answers, job, visit, jobkey, payload, sum)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) ON CONFLICT (id) DO NOTHING`

func row(e store.Event) []any {
	return []any{e.ID, e.Device, e.Order, e.Who, e.When.UnixMicro(), string(e.Kind), e.Answers, e.Job, e.Visit, e.JobKey, []byte(e.Payload), e.Sum()}
}

// Put implements store.Peer. All that the server takes is kept, or nothing where the
// connection breaks.
func (o *Office) Put(ctx context.Context, events []store.Event) (refused []store.Aside, err error) {
	tx, err := o.conn.Begin(ctx)
	if err != nil {
		return nil, err
	}
	defer tx.Rollback(ctx)
	if whole, err := putAll(ctx, tx, events); err != nil {
		return nil, err
	} else if whole {
		return nil, tx.Commit(ctx)
	}
	for _, e := range events {
		if why, err := put(ctx, tx, e); err != nil {
			return nil, err
		} else if why != "" {
			refused = append(refused, store.Aside{Event: e, Reason: why})
		}
	}
	return refused, tx.Commit(ctx)
}

// putAll puts all events in one go; whole is false, and nothing was put, where the
// server refuses one, which is then looked for one by one.
func putAll(ctx context.Context, tx pgx.Tx, events []store.Event) (whole bool, err error) {
	sp, err := tx.Begin(ctx)
	if err != nil {
		return false, err
	}
	var batch pgx.Batch
	var ids []string
	sums := map[string][]byte{}
	for _, e := range events {
		batch.Queue(insert, row(e)...)
		ids, sums[e.ID] = append(ids, e.ID), e.Sum()
	}
	err = sp.SendBatch(ctx, &batch).Close()
	var said *pgconn.PgError
	if errors.As(err, &said) {
		return false, sp.Rollback(ctx)
	}
	if err != nil {
		return false, err
	}
	rows, err := sp.Query(ctx, "SELECT id, sum FROM retrostage.events WHERE id = ANY($1)", ids)
	if err != nil {
		return false, err
	}
	n := 0
	var id string
	var sum []byte
	if _, err := pgx.ForEachRow(rows, []any{&id, &sum}, func() error {
		if bytes.Equal(sum, sums[id]) {
			n++
		}
		return nil
	}); err != nil {
		return false, err
	}
	if n < len(sums) { // another event has an id
		return false, sp.Rollback(ctx)
	}
	return true, sp.Commit(ctx)
}

// put tries one event within the transaction; why is the server's refusal.
func put(ctx context.Context, tx pgx.Tx, e store.Event) (why string, err error) {
	sp, err := tx.Begin(ctx) // a savepoint: one refusal leaves the others their place
	if err != nil {
		return "", err
	}
	_, err = sp.Exec(ctx, insert, row(e)...)
	var said *pgconn.PgError
	if errors.As(err, &said) {
		return said.Message, sp.Rollback(ctx)
	}
	if err != nil {
		return "", err
	}
	var sum []byte
	if err := sp.QueryRow(ctx, "SELECT sum FROM retrostage.events WHERE id = $1", e.ID).Scan(&sum); err != nil {
		return "", err
	}
	if !bytes.Equal(sum, e.Sum()) {
		why = "another event has its id"
	}
	return why, sp.Commit(ctx)
}

// Since implements store.Peer. The place is a transaction and a row in it. Rows of
// transactions that began before one that is still open wait, so that none is passed
// over that is committed late.
func (o *Office) Since(ctx context.Context, place string) (events []store.Event, next string, err error) {
	var xact, seq int64
	if x, s, ok := strings.Cut(place, ":"); ok {
		xact, _ = strconv.ParseInt(x, 10, 64)
		seq, _ = strconv.ParseInt(s, 10, 64)
	}
	rows, err := o.conn.Query(ctx, `SELECT id, device, ord, who, at, kind, answers, job, visit, jobkey, payload, sum, xact, seq FROM retrostage.events
		WHERE (xact, seq) > ($1, $2) AND xact < pg_snapshot_xmin(pg_current_snapshot())::text::bigint ORDER BY xact, seq LIMIT 1000`, xact, seq)
	if err != nil {
		return nil, place, err
	}
	defer rows.Close()
	for rows.Next() {
		var e store.Event
		var at int64
		var kind string
		var load, sum []byte
		if err := rows.Scan(&e.ID, &e.Device, &e.Order, &e.Who, &at, &kind, &e.Answers, &e.Job, &e.Visit, &e.JobKey, &load, &sum, &xact, &seq); err != nil {
			return nil, place, err
		}
		e.Kind, e.When, e.Payload = store.Kind(kind), time.UnixMicro(at), load
		if !bytes.Equal(sum, e.Sum()) {
			e.Device = "damaged" // is refused and counted where it is taken
		}
		events = append(events, e)
	}
	return events, fmt.Sprintf("%d:%d", xact, seq), rows.Err()
}

// PutPicture implements store.Peer.
func (o *Office) PutPicture(ctx context.Context, hash, mime string, data []byte) error {
	_, err := o.conn.Exec(ctx, "INSERT INTO retrostage.pictures (hash, mime, data) VALUES ($1, $2, $3) ON CONFLICT (hash) DO NOTHING", hash, mime, data)
	return err
}

// Picture implements store.Peer.
func (o *Office) Picture(ctx context.Context, hash string) (data []byte, err error) {
	err = o.conn.QueryRow(ctx, "SELECT data FROM retrostage.pictures WHERE hash = $1", hash).Scan(&data)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	return data, err
}

// PutKeys implements store.Peer.
func (o *Office) PutKeys(ctx context.Context, keys []store.Key) error {
	var batch pgx.Batch
	for _, k := range keys {
		batch.Queue("INSERT INTO retrostage.keys (id, job, key) VALUES ($1, $2, $3) ON CONFLICT (id) DO NOTHING", k.ID, k.Job, k.Key)
	}
	if batch.Len() == 0 {
		return nil
	}
	return o.conn.SendBatch(ctx, &batch).Close()
}

// Keys implements store.Peer.
func (o *Office) Keys(ctx context.Context) (keys []store.Key, err error) {
	rows, err := o.conn.Query(ctx, "SELECT id, job, key FROM retrostage.keys")
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(r pgx.CollectableRow) (k store.Key, err error) {
		return k, r.Scan(&k.ID, &k.Job, &k.Key)
	})
}
