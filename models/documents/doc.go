// Package documents writes what the nursery reads: sentences and tables, made
// from the nouns. Every function is pure: nouns in, text out.
package documents
