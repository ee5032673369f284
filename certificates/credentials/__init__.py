"""The record in an open form: an Open Badges 3.0 credential, and how its status is published.

Nothing in this package but ``keys`` touches a file, and nothing the database:

- ``achievement`` says the facts of a record as an unsigned credential;
- ``proofs`` signs and checks a document by the cryptosuite eddsa-jcs-2022;
- ``status_list`` packs the status of many credentials into one published list;
- ``controller`` publishes the keys; ``multikey`` writes a key as text.
"""
