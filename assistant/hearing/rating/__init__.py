"""A second acoustic model, of another make, that rates the sentences the first has heard.

Noise leads two models astray in different ways: what both find likely was nearly always said. It is optional: where its
package is not installed the ears hear without it. `model` loads and asks it, `tokens` and `written` put a sentence the
way it writes, `ears` puts it behind any recogniser.
"""
