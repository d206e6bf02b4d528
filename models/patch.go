package models

import (
	"bytes"
	"encoding/json"
)

// Patch is one field of a merge patch (RFC 7396). It tells apart a field that
// was left out, one that is null (take the value away) and one with a value.
// The zero value is a field left out; tag it `json:",omitzero"`, so that it is
// not written either.
type Patch[T any] struct {
	// Value is what the field becomes; the zero T when it is left out or null.
	Value T
	state patchState
}

type patchState uint8

const (
	leftOut patchState = iota
	isNull
	hasValue
)

// SetTo is the field with a value.
func SetTo[T any](v T) Patch[T] { return Patch[T]{Value: v, state: hasValue} }

// SetNull is the field given as null.
func SetNull[T any]() Patch[T] { return Patch[T]{state: isNull} }

// IsZero says that the field was left out, and so stays as it is.
func (p Patch[T]) IsZero() bool { return p.state == leftOut }

// IsSet says that the field was given, as a value or as null.
func (p Patch[T]) IsSet() bool { return p.state != leftOut }

// IsNull says that the field was given as null.
func (p Patch[T]) IsNull() bool { return p.state == isNull }

// Or is the value after the patch: old where the field was left out, the zero T
// where it is null.
func (p Patch[T]) Or(old T) T {
	if p.state == leftOut {
		return old
	}
	return p.Value
}

// UnmarshalJSON reads null or a T. It is only called for a field that is there.
func (p *Patch[T]) UnmarshalJSON(data []byte) error {
	if bytes.Equal(bytes.TrimSpace(data), []byte("null")) {
		*p = SetNull[T]()
		return nil
	}
	var v T
	if err := json.Unmarshal(data, &v); err != nil {
		return err
	}
	*p = SetTo(v)
	return nil
}

// MarshalJSON writes the value, or null where there is none.
func (p Patch[T]) MarshalJSON() ([]byte, error) {
	if p.state != hasValue {
		return []byte("null"), nil
	}
	return json.Marshal(p.Value)
}
