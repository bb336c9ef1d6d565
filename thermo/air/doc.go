// Package air computes the air around the machine: the standard atmosphere and
// moist air. SI throughout: K, Pa absolute, m.
package air
