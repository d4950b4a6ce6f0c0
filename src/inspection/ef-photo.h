/* A photo that belongs to a job: whose bytes lie in the store, what it shows, and how it lies on a face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Places on the photo are px of the picture upright as its file says (EXIF orientation applied), x to the right, y downwards; turning it by hand is for
 * looking at it only and doesn't move them.
 */
#pragma once

#include "../base/ef-json.h"
#include "../geometry/ef-registration.h"
#include "../pump/ef-pump-sheet.h"
#include "../base/ef-item.h"

G_BEGIN_DECLS

#define EF_PHOTO_MOST_SIDE 30000      /* px */
#define EF_PHOTO_MOST_PIXELS 64000000 /* width x height */

typedef struct
{
  EfItem item;
  char *file;        /* SHA-256 of its bytes; the store has them, exchange files don't */
  char *name;        /* as it was called */
  char *type;        /* "image/jpeg", "image/png" */
  int width, height; /* px, upright */
  char *taken;       /* the camera's clock, without a time zone: "2026-03-09T10:15:00"; NULL: the file doesn't say */
  int turns;         /* 0 … 3 quarter turns clockwise by hand */
  char *shows;       /* a face ("separator/side-a") or a part ("pickup"); NULL: not said */
  char *note;
  EfRegistrationModel model;
  GArray *pairs;     /* EfRegistrationPair: places on the photo and on the face that it shows */
} EfPhoto;
extern const EfItemClass ef_photo_class;

/* Not laid on anything, the model projective. Texts are copied; nothing is checked: ef_photo_check(). */
EfPhoto *ef_photo_new (const char *file, const char *name, const char *type, int width, int height);
/* Only while the item isn't handed on. */
void ef_photo_add_pair (EfPhoto *photo, double x, double y, double u, double v);
gboolean ef_photo_of_face (const EfPhoto *photo, const char *face_id);
/* The transform that its pairs give; as ef_registration_fit(). */
gboolean ef_photo_fit (const EfPhoto *photo, EfRegistration *out, GError **error);
/* Size as it is looked at, and from there to upright and back. */
void ef_photo_turned_size (const EfPhoto *photo, int *width, int *height);
void ef_photo_turn_point (const EfPhoto *photo, double x, double y, double *turned_x, double *turned_y);
void ef_photo_upright_point (const EfPhoto *photo, double turned_x, double turned_y, double *x, double *y);

/* Used by ef-item-json.c, ef-item-grid.c and ef-inspection-check.c. */
void ef_photo_to_json (const EfPhoto *photo, JsonObject *object);
void ef_photo_read (EfPhoto *photo, const EfJson *json);
void ef_photo_on_grid (EfPhoto *photo);
gboolean ef_photo_check (const EfPhoto *photo, const EfPumpSheet *sheet, GError **error);

G_END_DECLS
