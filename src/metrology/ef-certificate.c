/* Certificates of gauges.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-certificate.h"

#include "../base/ef-error.h"

#include <string.h>

#define NAME_MOST 255 /* bytes */

const char *const ef_certificate_types[] = { "application/pdf", "image/jpeg", "image/png", NULL };

EfCertificate *
ef_certificate_new (const char *file,
                    const char *name,
                    const char *type)
{
  EfCertificate *certificate = g_new0 (EfCertificate, 1);

  certificate->file = g_strdup (file);
  certificate->name = g_strdup (name);
  certificate->type = g_strdup (type);

  return certificate;
}

void
ef_certificate_free (EfCertificate *certificate)
{
  if (certificate == NULL)
    return;

  g_free (certificate->file);
  g_free (certificate->name);
  g_free (certificate->type);
  g_free (certificate);
}

guint
ef_certificates_length (const GPtrArray *list)
{
  return list != NULL ? list->len : 0;
}

const EfCertificate *
ef_certificates_find (const GPtrArray *list,
                      const char *file)
{
  for (guint i = 0; i < ef_certificates_length (list); i++)
    if (g_strcmp0 (((const EfCertificate *) list->pdata[i])->file, file) == 0)
      return list->pdata[i];

  return NULL;
}

GPtrArray *
ef_certificates_copy (const GPtrArray *list)
{
  GPtrArray *copy = NULL;

  for (guint i = 0; i < ef_certificates_length (list); i++)
    {
      const EfCertificate *one = list->pdata[i];

      copy = ef_certificates_add (copy, ef_certificate_new (one->file, one->name, one->type));
    }

  return copy;
}

gboolean
ef_certificates_equal (const GPtrArray *a,
                       const GPtrArray *b)
{
  if (ef_certificates_length (a) != ef_certificates_length (b))
    return FALSE;
  for (guint i = 0; i < ef_certificates_length (a); i++)
    {
      const EfCertificate *left = a->pdata[i], *right = b->pdata[i];

      if (g_strcmp0 (left->file, right->file) != 0 || g_strcmp0 (left->name, right->name) != 0 || g_strcmp0 (left->type, right->type) != 0)
        return FALSE;
    }

  return TRUE;
}

GPtrArray *
ef_certificates_add (GPtrArray *list,
                     EfCertificate *certificate)
{
  if (list == NULL)
    list = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_certificate_free);
  g_ptr_array_add (list, certificate);

  return list;
}

static gboolean
refuse (guint i,
        const char *member,
        const char *expected,
        const char *found,
        GError **error)
{
  g_autofree char *valid = g_utf8_make_valid (found != NULL ? found : "none", -1);

  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "certificates[%u].%s: expected %s, found \"%.100s\"", i, member, expected, valid);

  return FALSE;
}

static gboolean
check_one (const GPtrArray *list,
           guint i,
           GError **error)
{
  const EfCertificate *one = list->pdata[i];

  if (one->file == NULL || strlen (one->file) != 64 || strspn (one->file, "0123456789abcdef") != 64)
    return refuse (i, "file", "a SHA-256 digest of 64 small hexadecimal digits", one->file, error);
  if (ef_certificates_find (list, one->file) != one)
    return refuse (i, "file", "each file once", one->file, error);
  if (one->name == NULL || *one->name == '\0' || strlen (one->name) > NAME_MOST || !g_utf8_validate (one->name, -1, NULL))
    return refuse (i, "name", "UTF-8 text of 1 to 255 bytes", one->name, error);
  if (one->type == NULL || !g_strv_contains (ef_certificate_types, one->type))
    return refuse (i, "type", "application/pdf, image/jpeg or image/png", one->type, error);

  return TRUE;
}

gboolean
ef_certificates_check (const GPtrArray *list,
                       GError **error)
{
  if (ef_certificates_length (list) > EF_GAUGE_MOST_CERTIFICATES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "certificates: expected at most %d, found %u", EF_GAUGE_MOST_CERTIFICATES, list->len);
      return FALSE;
    }
  for (guint i = 0; i < ef_certificates_length (list); i++)
    if (!check_one (list, i, error))
      return FALSE;

  return TRUE;
}
