// Package joint says who holds whom: which parts a fastener's shank passes,
// which it bites, which nut and washers belong to it, and which parts are
// pressed into each other.
package joint
