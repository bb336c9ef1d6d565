package assess

import "sync"

// lately keeps the last answers of a reckoning that takes long, over assessments: a job
// is assessed anew with every entry, and most entries leave its steps, its pull-down and
// its rise as they were. The key holds all that the answer hangs on; who takes an
// answer does not change what it holds.
type lately[K comparable, T any] struct {
	mu sync.Mutex
	by map[K]remembered[T]
}

// of is the answer for a key, reckoned if it is not kept.
func (l *lately[K, T]) of(key K, f func() (T, error)) (T, error) {
	l.mu.Lock()
	r, ok := l.by[key]
	l.mu.Unlock()
	if ok {
		return r.v, r.err
	}
	r.v, r.err = f()
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.by == nil || len(l.by) >= 32 {
		l.by = map[K]remembered[T]{}
	}
	l.by[key] = r
	return r.v, r.err
}
