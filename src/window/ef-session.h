/* One open job in the window: its document, the latest assessment of it, and what is selected.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pages of a job share one session. After each change of the document the session assesses a snapshot in a worker and
 * emits "assessed"; stale results are dropped. Charts are kept, one a face.
 */
#pragma once

#include <glib-object.h>
#include "../assess/ef-assessment.h"
#include "../inspection/ef-document.h"
#include "../record/ef-store.h"
#include "../wear/ef-surface.h"

G_BEGIN_DECLS

#define EF_TYPE_SESSION (ef_session_get_type ())
G_DECLARE_FINAL_TYPE (EfSession, ef_session, EF, SESSION, GObject)

/* @store may be NULL (then nothing is kept); takes a reference to @document. */
EfSession *ef_session_new (EfDocument *document, EfStore *store, gint64 job, gboolean read_only);
EfDocument *ef_session_document (EfSession *self);
EfStore *ef_session_store (EfSession *self);
gint64 ef_session_job (EfSession *self);
gboolean ef_session_read_only (EfSession *self); /* opened so, or the job is sealed or withdrawn */
/* Looks again whether the job is sealed or withdrawn; emits "changed" where that makes a difference. After sealing and the like. */
void ef_session_refresh_standing (EfSession *self);
const EfRuleSet *ef_session_rules (EfSession *self);   /* borrowed, with those of the pump sheet; NULL when they can't be read */
EfAssessment *ef_session_assessment (EfSession *self); /* borrowed; NULL until the first is done */
gboolean ef_session_busy (EfSession *self);            /* an assessment newer than the shown one is under way */
EfFaceChart *ef_session_chart (EfSession *self, const char *face_id); /* borrowed, cached */

/* How faces look that nobody has marked yet, of a specimen: face id -> EfSurface *, as under a lamp. Takes @surfaces; NULL: none. */
void ef_session_take_surfaces (EfSession *self, GHashTable *surfaces);
EfSurface *ef_session_surface (EfSession *self, const char *face_id); /* borrowed; NULL */

/* Properties "part", "face" (face id), "mark" (mark id), all nullable strings; setting a mark sets its face, a face its part. */
const char *ef_session_part (EfSession *self);
const char *ef_session_face (EfSession *self);
const char *ef_session_mark (EfSession *self);
void ef_session_select_part (EfSession *self, const char *part_id);
void ef_session_select_face (EfSession *self, const char *face_id);
void ef_session_select_mark (EfSession *self, const char *mark_id);

/* Changes go through these, so that a failure is shown to the user ("message" signal) and nothing is lost. */
gboolean ef_session_apply (EfSession *self, EfChange *change); /* takes it */
void ef_session_undo (EfSession *self);
void ef_session_redo (EfSession *self);
/* Signals: "changed" (after the document changed), "assessed", "message" (const char *text) for a toast. */
void ef_session_message (EfSession *self, const char *text);
/* Waits (running the main loop) until the shown assessment is current, be it coarse; for tests. */
void ef_session_settle (EfSession *self);
/* Until it's there in full detail: for printing and files. */
void ef_session_settle_fully (EfSession *self);
gboolean ef_session_refining (EfSession *self); /* a finer one than the shown one is still to come */
/* Every session of the program stops at @finest; EF_DETAIL_FULL at first. For tests that aren't about figures. */
void ef_session_set_finest (EfFlowDetail finest);
/* Cancels what runs and assesses no more: the job is being closed. */
void ef_session_stop (EfSession *self);

G_END_DECLS
