"""The web app: a Django project with one app for each thing a person does."""
