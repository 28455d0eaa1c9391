package web

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
)

// cache keeps what was costly to make, by a key that names all it depends on,
// until the cost of all exceeds most; the longest unused goes first. What several
// want at once is made once, and given up when none of them waits any more.
type cache[V any] struct {
	most int
	cost func(V) int

	mu      sync.Mutex
	kept    map[string]*kept[V]
	flights map[string]*flight[V]
	clock   int // of uses
	sum     int
}

type kept[V any] struct {
	value      V
	cost, used int
}

type flight[V any] struct {
	done    chan struct{}
	value   V
	err     error
	waiting int
	cancel  context.CancelFunc
}

func newCache[V any](most int, cost func(V) int) *cache[V] {
	return &cache[V]{most: most, cost: cost, kept: map[string]*kept[V]{}, flights: map[string]*flight[V]{}}
}

// get returns what stands under the key, or makes it. base outlives ctx, which
// only waits.
func (c *cache[V]) get(ctx, base context.Context, key string, work func(context.Context) (V, error)) (V, error) {
	c.mu.Lock()
	if k, ok := c.kept[key]; ok {
		c.clock++
		k.used = c.clock
		c.mu.Unlock()
		return k.value, nil
	}
	f, ok := c.flights[key]
	if !ok {
		during, cancel := context.WithCancel(base)
		f = &flight[V]{done: make(chan struct{}), cancel: cancel}
		c.flights[key] = f
		go func() {
			defer cancel()
			v, err := safely(during, work)
			c.land(key, f, v, err)
		}()
	}
	f.waiting++
	c.mu.Unlock()
	select {
	case <-f.done:
		return f.value, f.err
	case <-ctx.Done():
		c.mu.Lock()
		defer c.mu.Unlock()
		if f.waiting--; f.waiting == 0 {
			f.cancel()
			if c.flights[key] == f { // whoever comes now begins anew
				delete(c.flights, key)
			}
		}
		var none V
		return none, ctx.Err()
	}
}

// safely makes a panic of the work an error: one job that trips the program must
// not take the other pages with it.
func safely[V any](ctx context.Context, work func(context.Context) (V, error)) (v V, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the program stumbled: %v\n%s", p, debug.Stack())
		}
	}()
	return work(ctx)
}

// land keeps what was made and tells those who wait.
func (c *cache[V]) land(key string, f *flight[V], v V, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	f.value, f.err = v, err
	close(f.done)
	if c.flights[key] == f {
		delete(c.flights, key)
	}
	if err == nil {
		c.keep(key, v)
	}
}

// put keeps a value that was made elsewhere.
func (c *cache[V]) put(key string, v V) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.keep(key, v)
}

// peek returns what is kept, if it is.
func (c *cache[V]) peek(key string) (v V, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if k, ok := c.kept[key]; ok {
		return k.value, true
	}
	return v, false
}

func (c *cache[V]) keep(key string, v V) {
	cost := c.cost(v)
	if cost > c.most {
		return
	}
	if old, ok := c.kept[key]; ok {
		c.sum -= old.cost
	}
	c.clock++
	c.kept[key] = &kept[V]{v, cost, c.clock}
	c.sum += cost
	for c.sum > c.most {
		oldest := ""
		for k, e := range c.kept {
			if oldest == "" || e.used < c.kept[oldest].used {
				oldest = k
			}
		}
		c.sum -= c.kept[oldest].cost
		delete(c.kept, oldest)
	}
}
