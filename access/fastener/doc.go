// Package fastener recognises fasteners by shape and confirms them by name.
// It decides what a thing is, its size and its drive; not what it holds
// (package joint) and not whether it can be reached (package reach).
package fastener
