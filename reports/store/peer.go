package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
)

// Peer is an office that a tablet exchanges events with over a network.
type Peer interface {
	// ID is which office it is: one that was begun anew is another.
	ID() string
	// Put keeps events that are not there. Those that are refused are told apart, with
	// the reason; an event that is there already is kept as it is.
	Put(ctx context.Context, events []Event) (refused []Aside, err error)
	// Since are events that came after the place that next told the last time, "" for
	// the first, and none where there are no more. What is on its way comes later,
	// whatever its place.
	Since(ctx context.Context, place string) (events []Event, next string, err error)
	// PutKeys and Keys are for what is encrypted; one that was discarded is neither.
	PutKeys(ctx context.Context, keys []Key) error
	Keys(ctx context.Context) ([]Key, error)
	PutPicture(ctx context.Context, hash, mime string, data []byte) error
	Picture(ctx context.Context, hash string) (data []byte, err error) // nil: it is not there
}

// ExchangeWith brings this store and an office up to date with each other. While the
// network is waited for, others may write here.
func (l *Local) ExchangeWith(ctx context.Context, p Peer) (x Exchanged, err error) {
	l.exchanging.Lock()
	defer l.exchanging.Unlock()
	if err := l.TakeOver(); err != nil {
		return x, err
	}
	office := "office " + p.ID()
	if err := l.takeFromPeer(ctx, p, office, &x); err != nil {
		return x, err
	}
	if err := l.keysWithPeer(ctx, p); err != nil {
		return x, err
	}
	if err := l.picturesFromPeer(ctx, p, &x); err != nil {
		return x, err
	}
	if err := l.picturesToPeer(ctx, p, office, &x); err != nil {
		return x, err
	}
	return x, l.eventsToPeer(ctx, p, office, &x)
}

// keysWithPeer brings the keys up to date, those discarded left out on both sides.
func (l *Local) keysWithPeer(ctx context.Context, p Peer) error {
	come, err := p.Keys(ctx)
	if err != nil {
		return err
	}
	l.mu.Lock()
	err = l.settleKeys()
	if err == nil {
		err = l.takeKeys(come)
	}
	var ks []Key
	if err == nil {
		ks, err = keysIn(l.db)
	}
	l.mu.Unlock()
	if err != nil {
		return err
	}
	there := map[string]bool{}
	for _, k := range come {
		there[k.ID] = true
	}
	ks = slices.DeleteFunc(ks, func(k Key) bool { return there[k.ID] })
	return p.PutKeys(ctx, ks)
}

func (l *Local) takeFromPeer(ctx context.Context, p Peer, office string, x *Exchanged) error {
	jobs := map[string]bool{}
	for {
		place, err := l.meta("place:" + office)
		if err != nil {
			return err
		}
		es, next, err := p.Since(ctx, place)
		if err != nil {
			return err
		}
		if len(es) == 0 {
			break
		}
		k := packet{}
		for _, e := range es {
			k.Events = append(k.Events, packed{e, e.Payload, hex.EncodeToString(e.digested())})
		}
		l.mu.Lock()
		err = l.takePacket(office, "place "+next, k, x, jobs)
		for job := range jobs {
			delete(l.states, job)
		}
		l.mu.Unlock()
		if err != nil {
			return err
		}
		if err := l.setMeta("place:"+office, next); err != nil {
			return err
		}
	}
	for job := range jobs {
		x.Jobs = append(x.Jobs, job)
	}
	return nil
}

// eventsToPeer sends what the office does not have. What it refuses is not offered
// again in this exchange, and is counted.
func (l *Local) eventsToPeer(ctx context.Context, p Peer, office string, x *Exchanged) error {
	for at := int64(0); ; {
		l.mu.Lock()
		es, err := l.unsent(office, &at)
		l.mu.Unlock()
		if err != nil || len(es) == 0 {
			return err
		}
		refused, err := p.Put(ctx, es)
		if err != nil {
			return err
		}
		x.Refused += len(refused)
		no := map[string]bool{}
		for _, a := range refused {
			no[a.Event.ID] = true
			x.Why = a.Reason
		}
		var names []string
		for _, e := range es {
			if !no[e.ID] {
				names = append(names, e.ID)
			}
		}
		x.Sent += len(names)
		if err := l.mark(office, names); err != nil {
			return err
		}
	}
}

// mark remembers what an office or a folder has.
func (l *Local) mark(where string, names []string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	tx, err := l.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	_, _, mark, err := prepared(tx)
	if err != nil {
		return err
	}
	for _, n := range names {
		if _, err := mark.Exec(where, n); err != nil {
			return &writeError{l.path(), err}
		}
	}
	return tx.Commit()
}

func (l *Local) picturesFromPeer(ctx context.Context, p Peer, x *Exchanged) error {
	l.mu.Lock()
	wanted, err := l.wanted()
	l.mu.Unlock()
	if err != nil {
		return err
	}
	for _, a := range wanted {
		b, err := p.Picture(ctx, a.Hash)
		if err != nil {
			return err
		}
		if h := sha256.Sum256(b); hex.EncodeToString(h[:]) != a.Hash {
			x.Late++
			continue
		}
		l.mu.Lock()
		_, err = l.db.Exec("INSERT OR IGNORE INTO attachments VALUES (?, ?, ?)", a.Hash, a.Mime, b)
		l.mu.Unlock()
		if err != nil {
			return &writeError{l.path(), err}
		}
		x.Pictures++
	}
	return nil
}

func (l *Local) picturesToPeer(ctx context.Context, p Peer, office string, x *Exchanged) error {
	l.mu.Lock()
	hashes, err := l.hashes()
	l.mu.Unlock()
	if err != nil {
		return err
	}
	for _, h := range hashes {
		l.mu.Lock()
		sent, err := l.known(office, "picture "+h)
		l.mu.Unlock()
		if err != nil {
			return err
		}
		if sent {
			continue
		}
		b, mime, err := l.raw(h)
		if err != nil {
			continue // damaged here: another may have it
		}
		if err := p.PutPicture(ctx, h, mime, b); err != nil {
			return fmt.Errorf("picture %s: %w", h[:8], err)
		}
		if err := l.mark(office, []string{"picture " + h}); err != nil {
			return err
		}
		x.PicturesSent++
	}
	return nil
}

// ErrPassword is that a connection string holds a secret.
var ErrPassword = errors.New("a password does not belong in a connection string, which stands in lists of processes and in files: PGPASSWORD or a password file has it")
