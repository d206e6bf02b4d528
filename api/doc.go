// Package api is the one door to the nursery: every route, the problem
// documents it answers with, and the client that calls it, over the network or
// within this process.
package api
