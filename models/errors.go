package models

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// Kind groups errors by the reaction they call for. The API turns a kind into
// a status, the command line turns it into an exit code; neither looks further.
type Kind string

// The kinds of error, and what they mean to the one who asked.
const (
	Malformed       Kind = "malformed"       // the request could not be read
	Invalid         Kind = "invalid"         // it was read, and a value in it cannot be
	NotFound        Kind = "not_found"       // what the path names does not exist
	Unknown         Kind = "unknown"         // a name in the body does not exist
	Refused         Kind = "refused"         // a harvest rule says no
	Conflict        Kind = "conflict"        // the name or key is taken
	Stale           Kind = "stale"           // it was changed by someone else meanwhile
	Unguarded       Kind = "unguarded"       // an edit came without If-Match
	Unauthenticated Kind = "unauthenticated" // nobody knows who asks
	Forbidden       Kind = "forbidden"       // not from here, or not by this caller
	TooMany         Kind = "too_many"        // too much in too short a time
	Unavailable     Kind = "unavailable"     // the database or server cannot be reached
	Internal        Kind = "internal"        // a fault of ours
)

// Field names one value at fault.
type Field struct {
	Name   string `json:"name" doc:"Where the value stands, as a path: stems_cut, clumps.total, row 3: cuttings" example:"stems_cut"`
	Detail string `json:"detail" doc:"What is wrong with it" example:"is -4, and must be 1 or more"`
	Value  any    `json:"value,omitempty" doc:"The value, where it is short enough to show"`
}

// Binding is the rule that decides an allowance, with its numbers in a sentence.
type Binding struct {
	Code   string `json:"code" doc:"The rule that binds: protection, permit, closure, rest, survey, per-plant or stand" example:"stand"`
	Detail string `json:"detail" doc:"The rule with the numbers it used" example:"30 of 42 stems are taken in the 350 days to 2026-01-17"`
}

// Error is every error a person can do something about: what is wrong, which
// value, and what to do next, in Detail. Code is stable and in the catalogue of
// problems.
type Error struct {
	Kind        Kind
	Code        string
	Detail      string
	Fields      []Field
	Suggestions []string      // near names, nearest first
	Allowed     *int          // stems still possible; refusals only
	Binding     *Binding      // the rule that refuses; refusals only
	Wait        time.Duration // until it may be tried again; TooMany only
}

// Error is the detail with its fields, as one sentence.
func (e *Error) Error() string {
	text := e.Detail
	if len(e.Fields) > 0 {
		parts := make([]string, len(e.Fields))
		for i, f := range e.Fields {
			parts[i] = f.Name + " " + f.Detail
		}
		joined := strings.Join(parts, "; ")
		if text == "" {
			text = joined
		} else {
			text += ": " + joined
		}
	}
	if len(e.Suggestions) > 0 {
		text += " (near: " + strings.Join(e.Suggestions, ", ") + ")"
	}
	return text
}

// Errorf makes an error of a kind with a code and a sentence.
func Errorf(kind Kind, code, format string, args ...any) *Error {
	return &Error{Kind: kind, Code: code, Detail: fmt.Sprintf(format, args...)}
}

// InvalidField is the error for one value that cannot be.
func InvalidField(code, field string, value any, format string, args ...any) *Error {
	return &Error{
		Kind: Invalid, Code: code, Detail: "that cannot be recorded",
		Fields: []Field{{Name: field, Detail: fmt.Sprintf(format, args...), Value: value}},
	}
}

// InvalidQuestion is InvalidField for what was asked, where nothing was to be
// recorded.
func InvalidQuestion(code, field string, value any, format string, args ...any) *Error {
	err := InvalidField(code, field, value, format, args...)
	err.Detail = "that cannot be answered"
	return err
}

// UnknownName is the error for a name in a request that nothing bears, with the
// names that are near it. Noun says what was looked for.
func UnknownName(code, field, noun, name string, near []string) *Error {
	return &Error{
		Kind: Unknown, Code: code, Detail: fmt.Sprintf("there is no %s %q", noun, name), Suggestions: near,
		Fields: []Field{{Name: field, Detail: fmt.Sprintf("is %q, and there is no such %s", name, noun), Value: name}},
	}
}

// AsError finds the Error in a chain, or nil.
func AsError(err error) *Error {
	var e *Error
	if errors.As(err, &e) {
		return e
	}
	return nil
}

// Faults gathers the fields at fault of one record, so that all are told at
// once. The zero value is ready to use.
type Faults struct {
	code   string
	fields []Field
}

// Add notes a field that cannot be. The code of the first one names the error.
func (f *Faults) Add(code, field string, value any, format string, args ...any) {
	if f.code == "" {
		f.code = code
	}
	f.fields = append(f.fields, Field{Name: field, Detail: fmt.Sprintf(format, args...), Value: value})
}

// Join notes the fields that another check found at fault.
func (f *Faults) Join(err error) {
	e := AsError(err)
	if e == nil {
		return
	}
	for _, field := range e.Fields {
		f.Add(e.Code, field.Name, field.Value, "%s", field.Detail)
	}
}

// Err is nil when nothing is at fault.
func (f *Faults) Err() error {
	if len(f.fields) == 0 {
		return nil
	}
	return &Error{Kind: Invalid, Code: f.code, Detail: "that cannot be recorded", Fields: f.fields}
}
