/* Laying a photo onto a face by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../geometry/ef-registration.h"

#include <math.h>

#define MOST_PX 1e5
#define MOST_MM 1e5
#define MOST_PLACES 1000

/* Two numbers as a member. */
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

static guint
read_pairs (const EfJson *input,
            EfRegistrationPair *pairs)
{
  static const char *const members[] = { "photo_px", "face_mm", NULL };
  g_auto (EfJson) list = ef_json_array (input, "pairs", 1, EF_REGISTRATION_MOST_PAIRS);
  guint n = MIN (ef_json_length (&list), EF_REGISTRATION_MOST_PAIRS);

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) row = ef_json_element (&list, i);

      ef_json_only (&row, members);
      read_two (&row, "photo_px", MOST_PX, &pairs[i].x, &pairs[i].y);
      read_two (&row, "face_mm", MOST_MM, &pairs[i].u, &pairs[i].v);
      pairs[i].u *= 1e-3;
      pairs[i].v *= 1e-3;
    }

  return n;
}

static void
put_list (JsonObject *object,
          const char *member,
          const double *values,
          guint n,
          double scale)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < n; i++)
    json_array_add_double_element (array, scale * values[i]);
  json_object_set_array_member (object, member, array);
}

/* Each place with what is known of how well it's known. */
static void
put_places (const EfJson *input,
            const EfRegistration *fit,
            JsonObject *out)
{
  g_auto (EfJson) list = { 0 };
  JsonArray *places = json_array_new ();

  json_object_set_array_member (out, "places", places);
  if (!ef_json_has (input, "places_px"))
    return;
  list = ef_json_array (input, "places_px", 0, MOST_PLACES);
  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);
      g_auto (EfJson) x = ef_json_element (&element, 0);
      g_auto (EfJson) y = ef_json_element (&element, 1);
      double px = ef_json_value (&x, -MOST_PX, MOST_PX), py = ef_json_value (&y, -MOST_PX, MOST_PX), place[2];
      JsonObject *one = json_object_new ();

      ef_registration_to_face (fit, px, py, &place[0], &place[1]);
      if (isfinite (place[0]))
        put_list (one, "face_mm", place, 2, 1e3);
      ef_json_put (one, "u_mm", 1e3 * ef_registration_uncertainty (fit, px, py));
      ef_json_put (one, "k_95", ef_registration_coverage (fit));
      json_array_add_object_element (places, one);
    }
}

static JsonNode *
run_photo_registration (const EfJson *input,
                        GError **error)
{
  static const char *const members[] = { "model", "pairs", "places_px", NULL };
  static const char *const models[] = { "similarity", "affine", "projective", NULL };
  EfRegistrationPair pairs[EF_REGISTRATION_MOST_PAIRS] = { 0 };
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (JsonObject) out = NULL;
  EfRegistrationModel model;
  double matrix[9];
  guint n;

  ef_json_only (input, members);
  model = (EfRegistrationModel) ef_json_choice (input, "model", models);
  n = read_pairs (input, pairs);
  if (!ef_json_finish (input->context, error) || !ef_registration_fit (model, pairs, n, &fit, error))
    return NULL;

  out = json_object_new ();
  for (guint i = 0; i < 9; i++)
    matrix[i] = (i < 6 ? 1e3 : 1) * fit.to_face[i];
  put_list (out, "matrix", matrix, 9, 1);
  put_list (out, "residuals_mm", fit.residual, n, 1e3);
  ef_json_put (out, "rms_mm", 1e3 * fit.rms);
  ef_json_put (out, "largest_mm", 1e3 * fit.largest);
  json_object_set_int_member (out, "degrees_of_freedom", fit.freedom);
  ef_json_put (out, "sigma_mm", 1e3 * fit.sigma);
  json_object_set_boolean_member (out, "mirrored", fit.mirrored);
  put_places (input, &fit, out);

  return ef_json_object_node (g_steal_pointer (&out));
}

const EfCalc ef_calc_photo[] = {
  { .name = "photo-registration",
    .summary = "the plane transform that lays a photo onto a face, by least squares over pairs of points",
    .input = "model: similarity, affine or projective\n"
             "pairs: objects of photo_px: two numbers, px, x to the right, y down; face_mm: two numbers, mm on the face, the second upwards; at least 2, 3, 4 by model\n"
             "places_px: pairs of numbers, px, to be brought to the face; default none",
    .output = "matrix: nine numbers by rows, from (x, y, 1) px to (u, v, 1) mm times a common factor\n"
              "residuals_mm: distance on the face, a pair\n"
              "rms_mm, largest_mm: of these\n"
              "degrees_of_freedom: 0: residuals say nothing\n"
              "sigma_mm: standard deviation of one coordinate; null without degrees of freedom\n"
              "mirrored: whether the photo would show the face as in a mirror\n"
              "places: objects of face_mm, u_mm (standard uncertainty of one coordinate), k_95 (coverage factor)",
    .example = "{\"model\": \"projective\", \"pairs\": [{\"photo_px\": [210, 180], \"face_mm\": [-40, 30]}, {\"photo_px\": [1710, 240], \"face_mm\": [40, 30]},"
               " {\"photo_px\": [1590, 1260], \"face_mm\": [40, -30]}, {\"photo_px\": [300, 1320], \"face_mm\": [-40, -30]}, {\"photo_px\": [955, 700], \"face_mm\": [0, 2]}],"
               " \"places_px\": [[700, 500]]}",
    .source = "Hartley 1997 (normalised direct linear transform); Hartley & Zisserman 2004, 4.1 to 4.4; JCGM 100:2008, 5.1 and G.3",
    .run = run_photo_registration },
  { NULL }
};
