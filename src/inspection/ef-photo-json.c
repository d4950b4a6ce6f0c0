/* A photo as JSON, and whether it makes sense.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-photo.h"

#include "../base/ef-units.h"
#include "../pump/ef-face-chart.h"

#include <math.h>
#include <string.h>

#define MM_MAX 1e5
#define TEXT_MAX 2000
#define NOTE_MAX 200000

static const char *const photo_members[] = { "id", "file", "name", "type", "size_px", "taken", "turns", "shows", "note", "registration", NULL };
static const char *const types[] = { "image/jpeg", "image/png", NULL };
static const char *const models[] = { "similarity", "affine", "projective", NULL };

static void
put_text (JsonObject *object,
          const char *member,
          const char *text)
{
  if (text != NULL)
    json_object_set_string_member (object, member, text);
}

static void
put_two (JsonObject *object,
         const char *member,
         double a,
         double b)
{
  JsonArray *pair = json_array_new ();

  json_array_add_double_element (pair, a + 0.0);
  json_array_add_double_element (pair, b + 0.0);
  json_object_set_array_member (object, member, pair);
}

static void
put_registration (JsonObject *object,
                  const EfPhoto *photo)
{
  JsonObject *registration;
  JsonArray *pairs;

  if (photo->pairs->len == 0 && photo->model == EF_REGISTRATION_PROJECTIVE)
    return;
  registration = json_object_new ();
  pairs = json_array_new ();
  json_object_set_string_member (registration, "model", ef_registration_model_name (photo->model));
  for (guint i = 0; i < photo->pairs->len; i++)
    {
      const EfRegistrationPair *pair = &g_array_index (photo->pairs, EfRegistrationPair, i);
      JsonObject *row = json_object_new ();

      put_two (row, "photo_px", pair->x, pair->y);
      put_two (row, "face_mm", ef_length_to_mm (pair->u), ef_length_to_mm (pair->v));
      json_array_add_object_element (pairs, row);
    }
  json_object_set_array_member (registration, "pairs", pairs);
  json_object_set_object_member (object, "registration", registration);
}

void
ef_photo_to_json (const EfPhoto *photo,
                  JsonObject *object)
{
  JsonArray *size = json_array_new ();

  put_text (object, "file", photo->file);
  put_text (object, "name", photo->name);
  put_text (object, "type", photo->type);
  json_array_add_int_element (size, photo->width);
  json_array_add_int_element (size, photo->height);
  json_object_set_array_member (object, "size_px", size);
  put_text (object, "taken", photo->taken);
  if (photo->turns != 0)
    json_object_set_int_member (object, "turns", photo->turns);
  put_text (object, "shows", photo->shows);
  put_text (object, "note", photo->note);
  put_registration (object, photo);
}

static void
read_two (const EfJson *object,
          const char *member,
          double most,
          double *a,
          double *b)
{
  g_auto (EfJson) pair = ef_json_array (object, member, 2, 2);

  for (guint i = 0; i < ef_json_length (&pair); i++)
    {
      g_auto (EfJson) element = ef_json_element (&pair, i);

      *(i == 0 ? a : b) = ef_json_value (&element, -most, most);
    }
}

static void
read_size (EfPhoto *photo,
           const EfJson *json)
{
  double width = 0, height = 0;

  read_two (json, "size_px", EF_PHOTO_MOST_SIDE, &width, &height);
  photo->width = (int) width;
  photo->height = (int) height;
  if (photo->width != width || photo->height != height)
    ef_json_fail (json, EF_ERROR_INVALID, "size_px: expected whole numbers");
}

static void
read_registration (EfPhoto *photo,
                   const EfJson *json)
{
  static const char *const members[] = { "model", "pairs", NULL };
  static const char *const pair_members[] = { "photo_px", "face_mm", NULL };
  g_auto (EfJson) registration = ef_json_optional (json, "registration");
  g_auto (EfJson) pairs = { 0 };

  if (registration.node == NULL)
    return;
  ef_json_only (&registration, members);
  photo->model = (EfRegistrationModel) ef_json_choice (&registration, "model", models);
  pairs = ef_json_array (&registration, "pairs", 0, EF_REGISTRATION_MOST_PAIRS);
  for (guint i = 0; i < ef_json_length (&pairs); i++)
    {
      g_auto (EfJson) row = ef_json_element (&pairs, i);
      double x = 0, y = 0, u = 0, v = 0;

      ef_json_only (&row, pair_members);
      read_two (&row, "photo_px", EF_PHOTO_MOST_SIDE, &x, &y);
      read_two (&row, "face_mm", MM_MAX, &u, &v);
      ef_photo_add_pair (photo, x, y, ef_length_from_mm (u), ef_length_from_mm (v));
    }
}

void
ef_photo_read (EfPhoto *photo,
               const EfJson *json)
{
  int type;

  ef_json_only (json, photo_members);
  photo->file = ef_json_string (json, "file");
  photo->name = ef_json_string (json, "name");
  type = ef_json_choice (json, "type", types);
  photo->type = g_strdup (types[type]);
  read_size (photo, json);
  photo->taken = ef_json_string_or (json, "taken", NULL);
  photo->turns = (int) ef_json_integer_or (json, "turns", 0, 3, 0);
  photo->shows = ef_json_string_or (json, "shows", NULL);
  photo->note = ef_json_string_or (json, "note", NULL);
  read_registration (photo, json);
}

static gboolean
refuse (GError **error,
        const char *field,
        const char *expected,
        const char *found)
{
  g_autofree char *valid = g_utf8_make_valid (found != NULL ? found : "none", -1);

  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected %s, found \"%.100s\"", field, expected, valid);

  return FALSE;
}

static gboolean
is_digest (const char *text)
{
  return text != NULL && strlen (text) == 64 && strspn (text, "0123456789abcdef") == 64;
}

static gboolean
check_text (const char *field,
            const char *text,
            gsize most,
            GError **error)
{
  if (text == NULL || (strlen (text) <= most && g_utf8_validate (text, -1, NULL)))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected UTF-8 text of at most %" G_GSIZE_FORMAT " bytes", field, most);

  return FALSE;
}

/* "2026-03-09T10:15:00": what a camera writes has no zone. */
static gboolean
check_taken (const char *taken,
             GError **error)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = NULL;

  if (taken == NULL)
    return TRUE;
  time = strlen (taken) == 19 && taken[10] == 'T' ? g_date_time_new_from_iso8601 (taken, utc) : NULL;

  return time != NULL || refuse (error, "taken", "a time such as 2026-03-09T14:05:00", taken);
}

static gboolean
is_face (const EfPumpSheet *sheet,
         const char *face_id)
{
  g_autofree char *part_id = g_strndup (face_id, strcspn (face_id, "/"));
  g_auto (GStrv) faces = ef_pump_sheet_part (sheet, part_id) != NULL ? ef_part_face_ids (sheet, part_id) : NULL;

  return faces != NULL && g_strv_contains ((const char *const *) faces, face_id);
}

static gboolean
check_shows (const EfPhoto *photo,
             const EfPumpSheet *sheet,
             GError **error)
{
  const char *slash = photo->shows != NULL ? strchr (photo->shows, '/') : NULL;

  if (photo->shows == NULL && photo->pairs->len == 0)
    return TRUE;
  if (photo->pairs->len > 0 && slash == NULL)
    return refuse (error, "shows", "a face such as separator/side-a, since there are pairs", photo->shows);
  if (slash != NULL ? is_face (sheet, photo->shows) : ef_pump_sheet_part (sheet, photo->shows) != NULL)
    return TRUE;

  return refuse (error, "shows", "a face or part of the pump", photo->shows);
}

static gboolean
check_pairs (const EfPhoto *photo,
             GError **error)
{
  if (photo->pairs->len > EF_REGISTRATION_MOST_PAIRS || (guint) photo->model >= EF_N_REGISTRATION_MODELS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "registration: expected at most %d pairs", EF_REGISTRATION_MOST_PAIRS);
      return FALSE;
    }
  for (guint i = 0; i < photo->pairs->len; i++)
    {
      const EfRegistrationPair *pair = &g_array_index (photo->pairs, EfRegistrationPair, i);

      if (pair->x >= 0 && pair->x <= photo->width && pair->y >= 0 && pair->y <= photo->height && fabs (pair->u) <= 10 && fabs (pair->v) <= 10)
        continue;
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "registration: pair %u: expected a place on the photo (%d x %d px) and one on the face, found %g, %g px and %g, %g m",
                   i + 1, photo->width, photo->height, pair->x, pair->y, pair->u, pair->v);
      return FALSE;
    }

  return TRUE;
}

gboolean
ef_photo_check (const EfPhoto *photo,
                const EfPumpSheet *sheet,
                GError **error)
{
  if (!is_digest (photo->file))
    return refuse (error, "file", "a SHA-256 of 64 small hexadecimal digits", photo->file);
  if (photo->name == NULL || *photo->name == '\0')
    return refuse (error, "name", "a name", photo->name);
  if (photo->type == NULL || !g_strv_contains (types, photo->type))
    return refuse (error, "type", "image/jpeg or image/png", photo->type);
  if (photo->width < 1 || photo->height < 1 || photo->width > EF_PHOTO_MOST_SIDE || photo->height > EF_PHOTO_MOST_SIDE
      || (gint64) photo->width * photo->height > EF_PHOTO_MOST_PIXELS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "size_px: expected sides of 1 to %d px and at most %d million px in all, found %d x %d", EF_PHOTO_MOST_SIDE,
                   EF_PHOTO_MOST_PIXELS / 1000000, photo->width, photo->height);
      return FALSE;
    }
  if (photo->turns < 0 || photo->turns > 3)
    return refuse (error, "turns", "0 to 3", "another number");

  return check_text ("name", photo->name, TEXT_MAX, error)
         && check_taken (photo->taken, error)
         && check_text ("shows", photo->shows, TEXT_MAX, error)
         && check_shows (photo, sheet, error)
         && check_text ("note", photo->note, NOTE_MAX, error)
         && check_pairs (photo, error);
}
