// Package models holds the nouns of the nursery: taxa, stands, surveys,
// batches, checks and what is said about them, with their fields, their words
// and how they are read. It decides nothing and imports only the standard library.
package models
