// Package memo keeps results that are asked for again and again.
package memo

import (
	"context"
	"errors"
	"slices"
	"sync"
)

// Last keeps the last few results of a pure function by what they rest on. A job is
// assessed at every key typed, and its wiring changes at few of them; a workbook that is
// read is written again to compare it, with the same ladders. What it hands out is
// shared: nobody changes it. The zero value is ready; any goroutine may ask it.
type Last[T any] struct {
	mu   sync.Mutex
	kept []result[T]
}

type result[T any] struct {
	key string
	val T
	err error
}

// Most results kept of each: the job at hand, as entered and as typed, and a few before.
// Tests that go through the same jobs again and again keep more; it is set before anything
// is asked for.
var Most = 6

// Of gives the result for a key, made where none is kept. An empty key keeps nothing, nor
// does what was cancelled.
func (m *Last[T]) Of(key string, make func() (T, error)) (T, error) {
	if key == "" {
		return make() // nothing to know it by
	}
	m.mu.Lock()
	i := slices.IndexFunc(m.kept, func(k result[T]) bool { return k.key == key })
	if i >= 0 {
		k := m.kept[i]
		m.kept = append(slices.Delete(m.kept, i, i+1), k) // what is asked for again stays longest
		m.mu.Unlock()
		return k.val, k.err
	}
	m.mu.Unlock()
	v, err := make() // two at once make it twice, which does no harm
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return v, err // says nothing of the job
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept = append(m.kept, result[T]{key, v, err})
	m.kept = m.kept[max(0, len(m.kept)-Most):]
	return v, err
}
