// Package p21 owns the text of ISO 10303-21: it finds the records of an
// exchange structure at once and decodes a record's parameters when somebody
// asks. It knows commas, strings and references, and no entity's meaning.
package p21
